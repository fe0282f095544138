"""When and in what air the coats go on, and the colours that are seen."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finish:
    """``[finish]``: the first day (ISO 8601), the air [degC, %], and when the bench is open.

    ``days``: full names of weekdays, none for all of them; ``opens``: hour of the day [h]; ``hours``: for how long [h].
    ``lip_glue`` is a row of ``tables/finishes.toml``; that, ``opens`` and ``hours`` are None where its usual stands.
    """

    start: str | None = None
    temperature: float = 20.0
    humidity: float = 50.0
    days: tuple[str, ...] = ()
    opens: float | None = None
    hours: float | None = None
    lip_glue: str | None = None


@dataclass(frozen=True, slots=True)
class Paint:
    """``[[paint]]``: a layer of colour as ``#rrggbb``, on a region, or through the mask of a name."""

    colour: str
    name: str
    region: Literal["whole", "back", "flank", "belly"] | None = None
    mask: str | None = None
