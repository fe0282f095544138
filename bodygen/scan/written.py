"""The recipe that every trace ends in: an ordinary file with the fit's record, the pictures of the fit beside it."""

from dataclasses import dataclass, replace
from math import pi
from pathlib import Path
from tempfile import TemporaryDirectory
from textwrap import wrap
from typing import Any

from bodygen.extras import missing
from bodygen.findings import Finding
from bodygen.flotation.water import density as water_density
from bodygen.form.body import Array, Body
from bodygen.form.integrals import body_skin, body_volume
from bodygen.recipe.model import Recipe, Water
from bodygen.recipe.new import stem_of, write_new
from bodygen.recipe.read import parse_recipe, read_recipe
from bodygen.recipe.rewrite import Copy
from bodygen.recipe.starter import COATS
from bodygen.scan.films import film_on, without_film
from bodygen.scan.nearest import signed_distances
from bodygen.scan.picture import body_views, map_page
from bodygen.scan.proposed import proposed_lines
from bodygen.scan.record import Fit, Traced, fit_of
from bodygen.scan.said import Said, said
from bodygen.scan.told import Told
from bodygen.units import angle_text, length_text
from bodygen.version import VERSION

WIDE = 98
"""Columns of what is printed."""
_COATED = f"""format = 1
[shape]
length = 70
depth = 20
thickness = 16
{COATS}"""
"""Any body under the usual coats."""
_TABLES = """\
# What nobody traced: the starter's wood and coats stand here; put in your own. Bores, lip and hooks are left out, and
# `bodygen explain bore` says how to write one.
[wood]
species = "basswood"
moisture_percent = 10

"""


@dataclass(frozen=True, slots=True, eq=False)
class Written:
    """What was written: the recipe's ``path``, what it says, its ``body``, how near that is to what was measured.

    ``off`` (k,) [mm] belongs to the trace's places: positive where the recipe's skin, with the film it was traced with,
    stands proud of them. ``film`` [mm] was taken off.
    """

    path: Path
    recipe: Recipe
    body: Body
    trace: Traced
    film: float
    off: Array
    fit: Fit
    lacks: tuple[str, ...] = ()

    def document(self) -> dict[str, Any]:
        """Give the JSON document."""
        length, depth, thickness = self.body.sizes()
        return {
            "recipe": str(self.path),
            "kind": self.trace.how,
            "units": self.recipe.units,
            "length_mm": length,
            "depth_mm": depth,
            "thickness_mm": thickness,
            "volume_cm3": body_volume(self.body).volume / 1000,
            "film_mm": self.film,
            "fit": self.fit.document(),
            "doubtful": [one.document() for one in self.trace.doubtful],
            "guessed": [one.document() for one in self.trace.guessed],
            "findings": [one.document(self.recipe.units) for one in self.trace.findings],
            "unsure": [one.document() for one in self.trace.unsure],
            "proposed": [one.document() for one in self.trace.proposed],
        }


def write_traced(trace: Traced, told: Told, folder: Path) -> Written:
    """Write ``folder/<name>.toml``, its stations where it needs them, and ``<stem>-fit.svg`` and ``.png``.

    Parameters
    ----------
    trace : Traced
        The skin as it was measured [mm].
    told : Told
        Name and units of the copy; what the original weighs and how it floats.
    folder : Path
        Where they go; nothing there is written over.

    Raises
    ------
    InputError
        A name that is none, or a file that is there already.
    DesignError
        No surface follows what was measured.
    """
    stem = stem_of(told.name)
    film = 0.0 if told.bare else film_on(parse_recipe(_COATED))
    bare = without_film(trace.offsets, film)
    words = said(bare, told.units, trace.noise, f"{stem}.csv")
    off = film - signed_distances(words.body, trace.places - (film, 0, 0))
    fit = fit_of(off)
    if film:
        what = "taken off the traced skin once, for the coats that the recipe lists; a skin without coats: --bare"
        found = Finding("film-taken-off", "note", "coat", what, round(film, 4), None, "mm")
        trace = replace(trace, findings=(*trace.findings, found))
    text = recipe_text(trace, told, words, film, fit)
    stations = None if words.stations is None else (f"{stem}.csv", words.stations)
    pictures = [f"{stem}-fit.{ending}" for ending in ("svg", "png")]
    with TemporaryDirectory() as draft:  # what does not read is not left behind
        read_recipe(write_new(Path(draft), stem, Copy(text, stations)))
    path = write_new(folder, stem, Copy(text, stations), pictures)
    recipe = read_recipe(path)
    lacks = _draw(recipe, trace, words.body, film, off, fit, folder / pictures[0])
    return Written(path, recipe, words.body, trace, film, off, fit, lacks)


def _draw(recipe: Recipe, trace: Traced, body: Body, film: float, off: Array, fit: Fit, svg: Path) -> tuple[str, ...]:
    """Write the pictures of the fit; returns the extras that are missing for the second."""
    from bodygen.export.svg import page_svg  # noqa: PLC0415  a trace alone draws

    coats = f"; drawn is the wood, the coats of the original lie {film:.2f} mm outside" if film else ""
    page = map_page(
        recipe,
        f"the recipe over {trace.file}",
        body_views(body),
        trace.places - (film, 0, 0),
        off,
        f"{fit}{coats}",
        dots=trace.how == "stations",
    )
    svg.write_text(page_svg(page), encoding="utf-8", newline="\n")
    lacks = missing(["paper"])
    if not lacks:
        from bodygen.export.png import page_png  # noqa: PLC0415

        svg.with_suffix(".png").write_bytes(page_png(page))
    return lacks


def recipe_text(trace: Traced, told: Told, words: Said, film: float, fit: Fit) -> str:
    """The recipe's text: the record of the fit as comments, the shape, usual wood and coats, the original's float."""
    name = told.name.replace("\\", "/").replace('"', "'")
    goal = _goal(told, words, film)
    shape = words.toml if words.stations is None else f"# The sections stand in the CSV file.\n{words.toml}"
    return "\n".join([
        *(f"# {line}" for line in record_lines(trace, told, words, film, fit)),
        "",
        "format = 1",
        f'name = "{name}"',
        f'units = "{told.units}"',
        "",
        shape,
        f"{_TABLES}{COATS}",
        *goal,
        *proposed_lines(trace.proposed, words.body.length, film, told.units),
    ])


def record_lines(trace: Traced, told: Told, words: Said, film: float, fit: Fit) -> list[str]:
    """The record of the fit, a sentence a line."""
    size = ", ".join(
        f"{length_text(v, told.units)} {what}"
        for v, what in zip(words.body.sizes(), ("long", "deep", "thick"), strict=True)
    )
    lines = [
        f"{told.name}: traced from {trace.file} ({trace.how}) by bodygen {VERSION}.",
        f"sha256 of that file: {trace.sha256}",
        f"This body: {size}, {body_volume(words.body).volume / 1000:.2f} cm3.",
        f"How near it is to what was measured: {fit}.",
    ]
    if film:
        lines.append(
            f"The coats of the original, {film:.2f} mm, are taken off its skin once: this is the wood below them."
        )
    lines += [f"Doubtful: {one}." for one in trace.doubtful]
    lines += [f"Guessed: {one}." for one in trace.guessed]
    lines += list(trace.notes)
    return [" ".join(line.split()) for line in lines]


def as_text(written: Written) -> str:
    """Say what was made, how near it is, what is doubtful and what was guessed."""
    trace, ruler = written.trace, written.recipe.units
    length, depth, thickness = (length_text(v, ruler) for v in written.body.sizes())
    volume = body_volume(written.body).volume / 1000
    lines = [
        str(written.path),
        f"  body      {length} long, {depth} deep, {thickness} thick; {volume:.2f} cm3",
        f"  fit       {written.fit}",
    ]
    if written.film:
        lines.append(f"  coats     {written.film:.2f} mm taken off the skin; --bare if it had none")
    for word, sentences in (("doubtful", trace.doubtful), ("guessed", trace.guessed), ("note", trace.notes)):
        for one in sentences:
            lines += wrap(f"  {word:8}  {one}", WIDE, subsequent_indent=" " * 12)
    for found in trace.findings:
        if found.severity != "note":  # what a note says stands in a line of its own above
            size = "" if found.value is None else f" ({found.value:g} {found.unit}{_limit(found)})"
            lines += wrap(
                f"  {found.severity:8}  {found.code}: {found.told(ruler)}{size}", WIDE, subsequent_indent=" " * 12
            )
    fit = f"{written.path.stem}-fit.svg"
    return "\n".join([*lines, f"  look at {fit}; next: bodygen check {written.path}"])


def _limit(found: Finding) -> str:
    return "" if found.limit is None else f", most is {found.limit:g}"


def _goal(told: Told, words: Said, film: float) -> list[str]:
    """``[goal]``: the lift and the attitude of the original, so that ``ballast`` copies its float."""
    if told.mass is None and told.pitch is None:
        return []
    lines = [
        "",
        "# How the original floats, for `bodygen ballast` to find the metal that makes the copy do the same.",
        "[goal]",
    ]
    if told.mass is not None:
        volume = finished_volume(words.body, film)
        reserve = volume / 1000 * water_density(Water()) - told.mass
        lines.append(
            f"# It pushes aside {volume / 1000:.2f} cm3 of fresh water and weighs {told.mass:g} g; hooks not counted."
        )
        lines.append(f'reserve = "{reserve:.2f} g"')
    if told.pitch is not None:
        lines.append(f'pitch = "{angle_text(told.pitch).removesuffix(" deg")} deg"')
    return lines


def finished_volume(body: Body, film: float) -> float:
    """Volume of a body under its coats [mm^3].

    References
    ----------
    Steiner's formula for parallel bodies; the integral of the mean curvature of a slender body is near pi times its
    length, as a cylinder's (from memory).
    """
    return body_volume(body).volume + film * body_skin(body).area + film**2 * pi * body.length
