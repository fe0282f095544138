"""A doubt about a design, as data: what was measured, against which limit, and what a maker can do about it."""

from dataclasses import asdict, dataclass
from typing import Any, Literal

from bodygen import tables
from bodygen.units import length_text

Severity = Literal["error", "warning", "note"]
PartKey = tuple[str, int]
"""One entry of a recipe: its table and its place there, counted from 0, as ("bore", 2); the lip is ("lip", 0)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt; all fields but the last two stand in ``properties.json`` as they are.

    ``value`` and ``limit`` are in ``unit``; both are None where the doubt is not about a number.
    ``where`` is a recipe key path (``bore[1].depth``) or the name of a part.
    ``source`` is an id of ``tables/sources.toml`` or the literal "common practice, no published source"; left out, it
    is the one that ``tables/findings.toml`` has for the code.
    ``lengths`` [mm] stand in the remedy where it has ``{}``, so that a report can say them on the maker's ruler.
    ``about`` says for code, as ``where`` says for people, which parts it is about: two where one is too near another.
    """

    code: str
    severity: Severity
    where: str
    remedy: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""
    about: tuple[PartKey, ...] = ()
    lengths: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.source:
            object.__setattr__(self, "source", str(tables.load("findings")["finding"][self.code]["source"]))

    def __repr__(self) -> str:
        """One line, without the remedy."""
        limit = "" if self.limit is None else f" (limit {self.limit:.3g})"
        figure = "" if self.value is None else f", {self.value:.3g}{limit} {self.unit}".rstrip()
        return f"<{self.severity} {self.code} at {self.where}{figure}>"

    def told(self, ruler: str) -> str:
        """Say what to do, its lengths in "mm" or "in"."""
        return (
            self.remedy.format(*(length_text(length, ruler) for length in self.lengths))
            if self.lengths
            else self.remedy
        )

    def document(self, ruler: str = "mm") -> dict[str, Any]:
        """Give the fields that JSON has; the remedy speaks in the recipe's units."""
        fields = asdict(self)
        del fields["about"], fields["lengths"]
        return fields | {"remedy": self.told(ruler)}
