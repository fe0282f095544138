"""All of a recipe, and where it was read."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from bodygen.recipe.model.bench import Goal, Limits, LineOut, Retrieve, Shop, Water
from bodygen.recipe.model.body import MeshFile, Parameters, Stations, Wood
from bodygen.recipe.model.cuts import Bore, WireSlot
from bodygen.recipe.model.finish import Finish, Paint
from bodygen.recipe.model.lip import Lip
from bodygen.recipe.model.worn import Coat, Fitting, Mask

Units = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class Source:
    """What a recipe was read from.

    ``lines`` maps a key path to its line in ``file``; ``sha256`` is of the file's bytes and of every file it names, so
    that two equal hashes mean the same input.
    """

    file: str
    sha256: str
    lines: Mapping[str, int] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a parameter file says; two that say the same are equal, wherever they were read.

    Lengths [mm], masses [g], angles [rad], temperatures [degC]; tables and keys under the names that they have in the
    file. ``dataclasses.replace`` gives a changed one; its values are not looked at as those of a file are
    (``bodygen.rewrite`` changes the file's text).

    Attributes
    ----------
    name, units
        Of the bait, and what its figures are told in: "mm" or "in".
    shape : Parameters, Stations or MeshFile
        Drawn, measured, or a mesh taken as it is.
    wood, bores, wire_slots, lip, fittings, coats, masks, paints, finish, water, line, retrieve, limits, shop, goal
        One table each, or a tuple of them; None or empty where it was left out.
    weighed : tuple of (str, float)
        Stages and what the maker's scale said [g].
    source : Source or None
        Where it was read: file, hash, lines. A changed recipe has None, for no file says what it says.
    """

    name: str
    units: Units
    shape: Parameters | Stations | MeshFile
    wood: Wood = Wood()  # noqa: RUF009  frozen data
    bores: tuple[Bore, ...] = ()
    wire_slots: tuple[WireSlot, ...] = ()
    lip: Lip | None = None
    fittings: tuple[Fitting, ...] = ()
    coats: tuple[Coat, ...] = ()
    masks: tuple[Mask, ...] = ()
    paints: tuple[Paint, ...] = ()
    finish: Finish | None = None
    water: Water = Water()  # noqa: RUF009  frozen data
    line: LineOut | None = None
    retrieve: Retrieve | None = None
    limits: Limits = Limits()  # noqa: RUF009  frozen data
    shop: Shop = Shop()  # noqa: RUF009  frozen data
    goal: Goal | None = None
    weighed: tuple[tuple[str, float], ...] = ()  # (stage, grams) read off the maker's scale
    source: Source | None = field(default=None, init=False, compare=False)  # not in __init__: replace leaves it behind

    def __repr__(self) -> str:
        """One line: what is in it, and where it was read."""
        kind = {Parameters: "drawn", Stations: "measured", MeshFile: "a mesh"}[type(self.shape)]
        tables = {"bore": self.bores, "wire slot": self.wire_slots, "fitting": self.fittings, "coat": self.coats}
        held = [f"{len(rows)} {name}{'s' * (len(rows) > 1)}" for name, rows in tables.items() if rows]
        held += ["a lip"] if self.lip else []
        where = self.source.file if self.source else "changed, in no file"
        return f"<Recipe {self.name!r}: {', '.join([kind, *held])}; {where}>"

    @property
    def sha256(self) -> str | None:
        """Of what it was read from; None for a recipe that is in no file."""
        return self.source.sha256 if self.source else None

    def place(self, *keys: str) -> tuple[str, int]:
        """File and line of the first of these keys that the file has, for a message; no file and 0 where none is."""
        if self.source is None:
            return "", 0
        return self.source.file, next((self.source.lines[key] for key in keys if key in self.source.lines), 0)


def read_from(recipe: Recipe, source: Source | None) -> Recipe:
    """The same recipe, known to be what this source says."""
    same = replace(recipe)
    object.__setattr__(same, "source", source)  # the one place that may
    return same
