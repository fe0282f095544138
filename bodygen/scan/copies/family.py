"""Copies in one or several sizes that keep the original's float: written, compared in a table and in a picture."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import radians
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

from bodygen.assessment import Assessment
from bodygen.errors import InputError, Mistake
from bodygen.extras import missing
from bodygen.pipeline import assess, solve_ballast
from bodygen.recipe.model import Goal, Recipe
from bodygen.recipe.new import refuse_taken, stem_of, write_new
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import Copy, rewrite
from bodygen.scan.copies.family_page import family_page
from bodygen.scan.copies.scaled import Chosen, Sizes, chosen, named_after, scaled_copy
from bodygen.units import length_text

Kept = Literal["reserve", "share", "pitch"]
KEPT: tuple[Kept, ...] = ("reserve", "share", "pitch")
LIFTS = ("reserve", "suspends_at", "sinks_at", "rises_at", "waterline")


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """One of a family: where it is, what it weighs and how it floats, what did not grow with it.

    ``factor`` is its length over the original's [-]; ``kept``: whether its ballast meets what was to be kept, None
    where nothing was.
    """

    path: Path
    assessment: Assessment
    factor: float
    chosen: tuple[Chosen, ...] = ()
    kept: bool | None = None

    def figures(self) -> dict[str, Any]:
        """Give the figures to compare, under the names of JSON."""
        a = self.assessment
        length, depth, thickness = a.shaped.sizes
        pushed = a.total.displaced / 1000 * a.flotation.water_g_cm3
        density = a.weighed.density.g_cm3
        uncut = a.shaped.volume.volume / 1000
        return {
            "length_mm": length,
            "depth_mm": depth,
            "thickness_mm": thickness,
            "volume_cm3": uncut,
            "uncut_wood_g": uncut * density,
            "mass_g": a.total.mass,
            "reserve_g": a.flotation.reserve_g,
            "share": a.flotation.reserve_g / pushed,
            "pitch_deg": a.flotation.attitude.pitch_deg,
        }

    def document(self) -> dict[str, Any]:
        """Give what JSON has of one copy."""
        rows = [row.document() for row in self.chosen]
        return {"recipe": str(self.path), "factor": self.factor, **self.figures(), "kept": self.kept, "chosen": rows}


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """The original and its copies, and the extras that are missing for the second picture."""

    original: Member
    copies: tuple[Member, ...]
    picture: Path
    lacks: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """Give the JSON document."""
        return {"original": self.original.document(), "copies": [copy.document() for copy in self.copies]}

    @property
    def met(self) -> bool:
        """Whether every copy keeps what it was to keep and breaks no rule."""
        return all(copy.kept is not False and not copy.assessment.failed for copy in self.copies)


def make_family(
    source: Path,
    name: str,
    lengths: Sequence[float],
    across: tuple[float | None, float | None],
    keep: Sequence[Kept],
    folder: Path,
) -> Family:
    """Write a recipe for each length, its ballast solved anew where something is to be kept.

    Parameters
    ----------
    source : Path
        The recipe's file.
    name : str
        Of the copy; of several, each is named after its length besides.
    lengths : sequence of float
        Of the copies [mm].
    across : (float or None, float or None)
        Depth and thickness of all of them [mm], where they are not to grow with the length.
    keep : sequence of "reserve", "share" or "pitch"
        Of the original's float.
    folder : Path
        Where they are written.

    Raises
    ------
    InputError, DesignError
        As ``pipeline.assess`` and ``solve_ballast``; a file that is there already. Then nothing is written.
    """
    recipe = read_recipe(source)
    original = Member(source, assess(recipe), 1.0)
    sizes = original.assessment.shaped.sizes
    names = [name] if len(lengths) == 1 else [named_after(name, length, recipe.units) for length in lengths]
    picture = folder / f"{stem_of(name)}-family.svg"
    taken = [folder / f"{stem_of(each)}{ending}" for each in names for ending in (".toml", ".csv")]
    refuse_taken([*taken, picture, picture.with_suffix(".png")])
    made = [
        _solved(source, original, each, (length, *across), sizes, keep)
        for each, length in zip(names, lengths, strict=True)
    ]
    copies = []
    for each, (text, member) in zip(names, made, strict=True):
        path = write_new(folder, stem_of(each), text)
        written = read_recipe(path)
        rows = chosen(recipe, written, member.factor)
        copies.append(replace(member, path=path, assessment=assess(written), chosen=rows))
    return Family(original, tuple(copies), picture, _draw(name, original, copies, picture))


def _solved(
    source: Path, original: Member, name: str, wanted: Sizes, sizes: tuple[float, float, float], keep: Sequence[Kept]
) -> tuple[Copy, Member]:
    """One copy's text, and what it is; in a folder of its own, so that nothing is left where it fails."""
    before = original.assessment.recipe
    copy = scaled_copy(source, before, name, wanted, sizes)
    factor = wanted[0] / sizes[0]
    with TemporaryDirectory() as draft:
        path = write_new(Path(draft), stem_of(name), copy)
        recipe = read_recipe(path)
        if not keep:
            return copy, Member(path, original.assessment, factor)
        goal = _goal(original, assess(recipe), keep)
        offers = solve_ballast(recipe, goal).offers
        if not offers:
            problem = "no bore keeps this float in that size."
            raise InputError([
                Mistake("command line", 0, "--keep", " ".join(keep), problem, "fewer of reserve, share, pitch")
            ])
        best = offers[0]
        wishes = _wishes(recipe, goal)
        text = rewrite(path, {**best.changes, **wishes})
    return replace(copy, recipe=text), Member(path, original.assessment, factor, kept=best.met)


def _goal(original: Member, copy: Assessment, keep: Sequence[Kept]) -> Goal:
    """What the copy is to keep, by the bores and the metal that the original has."""
    was = original.figures()
    reserve = None
    if "share" in keep:
        reserve = was["share"] * copy.total.displaced / 1000 * copy.flotation.water_g_cm3
    elif "reserve" in keep:
        reserve = was["reserve_g"]
    metals = {bore.fill.metal for bore in copy.recipe.bores if bore.kind == "ballast" and bore.fill is not None}
    metal = metals.pop() if len(metals) == 1 else None
    return Goal(reserve=reserve, pitch=radians(was["pitch_deg"]) if "pitch" in keep else None, metal=metal)


def _wishes(recipe: Recipe, goal: Goal) -> dict[str, object]:
    """The same as keys of the recipe's own [goal], which then asks for what was kept."""
    wishes: dict[str, object] = {}
    if goal.reserve is not None:
        wishes["goal.reserve"] = f"{goal.reserve:.2f} g"
    if goal.pitch is not None:
        wishes["goal.pitch"] = f"{goal.pitch * 180 / 3.141592653589793:.1f} deg"
    others = ("suspends_at", "sinks_at", "rises_at", "waterline")
    return wishes | ({f"goal.{key}": None for key in others} if recipe.goal is not None else {})


def _draw(name: str, original: Member, copies: Sequence[Member], picture: Path) -> tuple[str, ...]:
    from bodygen.export.svg import page_svg  # noqa: PLC0415  only what draws loads it

    rows = [(str(m.path.stem), m.assessment.shaped.body, _words(m)) for m in (original, *copies)]
    page = family_page(name, original.assessment.recipe, rows)
    picture.write_text(page_svg(page), encoding="utf-8", newline="\n")
    lacks = missing(["paper"])
    if not lacks:
        from bodygen.export.png import page_png  # noqa: PLC0415

        picture.with_suffix(".png").write_bytes(page_png(page))
    return lacks


def _words(member: Member) -> str:
    f = member.figures()
    long = length_text(f["length_mm"], member.assessment.recipe.units)
    return f"{long}: {f['mass_g']:.2f} g, a reserve of {f['reserve_g']:+.2f} g, nose {f['pitch_deg']:+.1f} deg"


def as_text(family: Family) -> str:
    """Say what was made: a table of all sizes, and what did not grow in each."""
    ruler = family.original.assessment.recipe.units
    lines = [str(copy.path) for copy in family.copies]
    names = ("length", "depth", "thick", "cm3", "wood g", "all g", "reserve g", "share", "pitch")
    wide = (9, 8, 8, 9, 9, 9, 11, 8, 8)
    head = f"  {'':26}" + "".join(f"{each:>{width}}" for each, width in zip(names, wide, strict=True))
    lines += ["", head]
    per = 25.4 if ruler == "in" else 1.0
    for member in (family.original, *family.copies):
        f = member.figures()
        a, b, c = (f[key] / per for key in ("length_mm", "depth_mm", "thickness_mm"))
        lines.append(
            f"  {member.path.stem[:25]:26}{a:9.3f}{b:8.3f}{c:8.3f}{f['volume_cm3']:9.2f}{f['uncut_wood_g']:9.2f}"
            f"{f['mass_g']:9.2f}{f['reserve_g']:+11.2f}{100 * f['share']:7.1f}%{f['pitch_deg']:+8.1f}"
        )
    unit = "inches" if ruler == "in" else "mm"
    lines.append(f"  lengths in {unit}; wood: the uncut body; share: the reserve over the water pushed aside")
    for copy in family.copies:
        lines += ["", f"  {copy.path}, {copy.factor:.4g} times as long. What did not grow with it:"]
        lines += [f"    {row.part}: was {row.was}, is {row.taken} ({row.why})" for row in copy.chosen] or [
            "    nothing"
        ]
        if copy.kept is not None:
            lines.append(
                "    its ballast keeps the float"
                if copy.kept
                else "    NO ballast keeps that float: this is the nearest"
            )
        errors = [doubt for doubt in copy.assessment.findings if doubt.severity != "note"]
        lines += [f"    {doubt.severity} {doubt.where}: {doubt.code}" for doubt in errors]
    return "\n".join([*lines, "", f"  look at {family.picture.name}; next: bodygen check {family.copies[0].path}"])
