"""A doubt about a design, as data: what was measured, against which limit, and what a maker can do about it."""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt; the fields are the contract's, so a report prints it as it stands.

    ``value`` and ``limit`` are in ``unit``; both are None where the doubt is not about a number.
    ``where`` is a recipe key path (``bore[1].depth``) or the name of a part.
    ``source`` is an id of ``tables/sources.toml`` or the literal "common practice, no published source".
    """

    code: str
    severity: Severity
    where: str
    remedy: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = "common practice, no published source"
