"""Flat films: each mask's stretch of skin laid flat, its region cut out, for a cutter, a laser or a knife.

Only the skin around a region is laid flat, for the less there is of it the truer it lies. What the lengths are off by
is written on the film and told as a finding.

Knows regions and the flank. The laying flat is film.py's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import pi

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.form.facing import FLANKS, SIDES, Side
from bodygen.form.integrals import Array
from bodygen.mesh.skin import Mesh
from bodygen.plane.label_places import Wanted, lettered_within
from bodygen.plane.layers import cut_layer, engraved
from bodygen.plane.polygon import polygon
from bodygen.plane.shapes import Drawing, Item, Line, Loop, Placement, Text, placed
from bodygen.shop.masks.regions import Region, SideView
from bodygen.shop.skin.flank import Flank, flank_of
from bodygen.shop.skin.flatten import Film, laid_flat
from bodygen.tables import as_row, load

FINE_MM = 0.4
"""A region's outline is carried onto the film in steps of this, in side view."""
STRAIGHT_MM = 0.01
"""How far a cut line may leave the outline so carried."""
CRUMB_MM2 = 1.0
SLIVER_MM = 0.2
"""Film narrower than twice this is none: it is left between a region that reaches the film's edge and that edge."""
LETTER_STEPS = 6
TICK_MM = 1.5
TICKS_MM = 10.0
"""Ticks at both edges of a film, at every 10 mm along the body."""


@dataclass(frozen=True, slots=True)
class FilmSize:
    """What a film is made to; lengths mm, the meanings as in ``tables/masks.toml``."""

    step: float
    around: int
    least_girth: float
    margin: float
    wrinkles: float
    gap: float
    letter: float
    least_letter: float
    edge: float


def default_film() -> FilmSize:
    """The film of ``tables/masks.toml``: common practice, no published source."""
    return as_row(FilmSize, load("masks")["film"])


@dataclass(frozen=True, slots=True, eq=False)
class MaskFilm:
    """One region on one flank's film as it lies on the skin, seen from outside: the nose where ``FLANKS`` has it.

    ``sheet`` is the film with the region cut out of it, ``cut_out`` the region [mm]; ``errors`` the greatest and the
    mean share by which lengths are off [-]; ``ticks`` stand at the film's lower and upper edge; ``short`` is how far
    along the body the cut ends before the region does at nose and tail, where the skin closes [mm].
    """

    name: str
    side: Side
    sheet: manifold3d.CrossSection
    cut_out: manifold3d.CrossSection
    errors: tuple[float, float]
    ticks: tuple[Line, ...]
    short: tuple[float, float]


def mask_films(
    body: Body | None,
    mesh: Mesh,
    view: SideView,
    regions: Sequence[Region],
    about: str = "",
    size: FilmSize | None = None,
) -> tuple[dict[str, Drawing], tuple[Finding, ...]]:
    """One drawing for each region: its film for each flank that has it.

    Parameters
    ----------
    body : Body or None
        The surface; None where a mesh is taken as it is.
    mesh : Mesh
        The uncut body [mm].
    view : SideView
        The body from its side.
    regions : sequence of Region
        What is cut out.
    about : str
        What the drawings were made from.
    size : FilmSize, optional
        Left out: the usual.

    Returns
    -------
    drawings : dict of name to Drawing
        Of each region that has one, true size on cut and mark layers.
    findings : tuple of Finding
        How true each film is; a region that lies where no film does.
    """
    size = size or default_film()
    try:
        flanks = {side: flank_of(body, mesh, size.step, size.around, size.least_girth, side) for side in SIDES}
    except DesignError as error:
        return {}, (Finding("film-none", "warning", "mask", str(error)),)
    drawings: dict[str, Drawing] = {}
    findings: list[Finding] = []
    for region in regions:
        films = _films(region, flanks, view, size, alike=body is not None)
        if not films:
            remedy = "lies where the skin closes at nose or tail: use the shell, or paint it by hand"
            findings.append(Finding("film-none", "warning", f"mask {region.name}", remedy))
            continue
        drawings[region.name] = _drawing(region, films, about, size)
        findings += _truth(region, films, size)
    return drawings, tuple(findings)


def _films(region: Region, flanks: dict[Side, Flank], view: SideView, size: FilmSize, *, alike: bool) -> list[MaskFilm]:
    """The films of each flank that has the region; where both are ``alike``, one is the other turned over."""
    films: list[MaskFilm] = []
    for side, shape in region.on.items():
        if alike and films and shape is region.on[films[0].side]:
            films.append(replace(_turned_over(films[0]), side=side))
        else:
            films += film_of(region, flanks[side], view, size)
    return films


def film_of(region: Region, flank: Flank, view: SideView, size: FilmSize) -> tuple[MaskFilm, ...]:
    """The film of a region for a flank; empty where it lies beside all film."""
    placed = outline_on(region.on[flank.side], flank, view)
    if not placed:
        return ()
    rows, columns = _patch(flank, placed, size)
    film = laid_flat(flank.points[rows, columns])
    around = flank.points.shape[1] - 1
    cut_out = manifold3d.CrossSection(
        [film.at(row - rows.start, way * around - columns.start) for row, way in placed], manifold3d.FillRule.EvenOdd
    )
    sheet = _outline(film) - cut_out
    sheet = sheet.offset(-SLIVER_MM, manifold3d.JoinType.Miter).offset(SLIVER_MM, manifold3d.JoinType.Miter)
    span = (region.on[flank.side] ^ view.outline()).bounds()
    made = MaskFilm(
        region.name,
        flank.side,
        sheet,
        cut_out,
        (film.greatest_error, film.mean_error),
        _ticks(flank, film, rows, sheet),
        (max(flank.x[0] - span[0], 0.0), max(span[2] - flank.x[-1], 0.0)),
    )
    # laid flat with x to the right and the back up: as the flank with its nose at the left is seen from outside
    return (made if FLANKS[flank.side].nose == "left" else _turned_over(made),)


def outline_on(shape: manifold3d.CrossSection, flank: Flank, view: SideView) -> list[tuple[Array, Array]]:
    """Each contour of a shape of the side view where it lies on a flank's skin: row and way, as ``Flank.way_at``."""
    ends = manifold3d.CrossSection.square((flank.x[-1] - flank.x[0], 4 * view.depth))
    shape = shape ^ view.outline() ^ ends.translate((flank.x[0], float(view.belly.min()) - view.depth))
    chains = [_fine(np.array(chain)) for chain in shape.to_polygons()]
    return [flank.way_at(chain[:, 0], chain[:, 1]) for chain in chains]


def _turned_over(film: MaskFilm) -> MaskFilm:
    flip = Placement(angle=pi, mirror=True)
    return replace(
        film,
        sheet=film.sheet.mirror((1.0, 0.0)),
        cut_out=film.cut_out.mirror((1.0, 0.0)),
        ticks=tuple(placed(tick, flip) for tick in film.ticks),
    )


def _fine(chain: Array) -> Array:
    """The closed chain with a point at least every FINE_MM."""
    parts = []
    for start, end in zip(chain, np.roll(chain, -1, axis=0), strict=True):
        count = max(1, int(np.ceil(np.linalg.norm(end - start) / FINE_MM)))
        parts.append(start + np.arange(count)[:, None] / count * (end - start))
    return np.concatenate(parts)


def _patch(flank: Flank, placed: Sequence[tuple[Array, Array]], size: FilmSize) -> tuple[slice, slice]:
    """Rows and columns of the flank's grid that hold the region and the margin around it."""
    rows = np.concatenate([row for row, _ in placed])
    ways = np.concatenate([way for _, way in placed])
    count, around = flank.points.shape[:2]
    first = (
        int(np.searchsorted(flank.x, np.interp(rows.min(), np.arange(count), flank.x) - size.margin, side="right")) - 1
    )
    last = int(np.searchsorted(flank.x, np.interp(rows.max(), np.arange(count), flank.x) + size.margin))
    first, last = max(first, 0), min(last, count - 1)
    beside = size.margin / float(flank.girth[first : last + 1].max()) * (around - 1)
    low = max(int(np.floor(ways.min() * (around - 1) - beside)), 0)
    high = min(int(np.ceil(ways.max() * (around - 1) + beside)), around - 1)
    return slice(first, last + 1), slice(low, high + 1)


def _outline(film: Film) -> manifold3d.CrossSection:
    grid = film.flat
    ring = np.concatenate([grid[:-1, 0], grid[-1, :-1], grid[:0:-1, -1], grid[0, :0:-1]])
    return manifold3d.CrossSection([ring], manifold3d.FillRule.NonZero)


def _ticks(flank: Flank, film: Film, rows: slice, sheet: manifold3d.CrossSection) -> tuple[Line, ...]:
    """Short lines inwards from both edges, where there is film."""
    x = flank.x[rows]
    marks = []
    for at in np.arange(np.ceil(x[0] / TICKS_MM), np.floor(x[-1] / TICKS_MM) + 1) * TICKS_MM:
        row = np.full(2, np.interp(at, x, np.arange(len(x), dtype=float)))
        low, high = film.at(row, np.array([0.0, film.flat.shape[1] - 1.0]))
        inwards = TICK_MM * (high - low) / np.linalg.norm(high - low)
        for start, end in ((low, low + inwards), (high, high - inwards)):
            spot = manifold3d.CrossSection.square((0.2, 0.2), center=True).translate(tuple(end))
            if (spot ^ sheet).area() > 0.5 * spot.area():
                marks.append(Line((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))))
    return tuple(marks)


def _truth(region: Region, films: Sequence[MaskFilm], size: FilmSize) -> Iterator[Finding]:
    """How far the lengths on the films are off, and where the cut ends before the region does."""
    worst, mean = (100 * max(film.errors[i] for film in films) for i in (0, 1))
    where = f"mask {region.name} film"
    told = f"lengths on the film are off by {mean:.1f} % on average and {worst:.1f} % at worst"
    limit = 100 * size.wrinkles
    if worst > limit:
        remedy = f"{told}: slit its edge there, cut it in two, or use the shell"
        yield Finding("film-stretched", "warning", where, remedy, round(worst, 2), limit, "%")
    else:
        yield Finding("film-stretched", "note", where, told, round(worst, 2), limit, "%")
    nose, tail = (round(max(film.short[i] for film in films), 2) for i in (0, 1))
    parts = [f"{short:.2f} mm short of the {end}" for short, end in ((nose, "nose"), (tail, "tail")) if short > 0]
    if parts:
        remedy = f"its cut ends {' and '.join(parts)}, where the skin closes: trim it there by hand"
        yield Finding("film-short", "note", where, remedy, max(nose, tail), None, "mm")


def _drawing(region: Region, films: Sequence[MaskFilm], about: str, size: FilmSize) -> Drawing:
    """The films above each other; on each, within its outline, its name, its flank and where the nose lies."""
    cuts: list[Loop] = []
    marks: list[Item] = []
    top = 0.0
    for film in films:
        x0, y0, _, y1 = film.sheet.bounds()
        there = Placement((-x0, top - y1))
        cuts += _loops(film.sheet.translate(there.shift))
        marks += [placed(tick, there) for tick in film.ticks] + [placed(text, there) for text in labels_on(film, size)]
        top -= y1 - y0 + size.gap
    layers = (cut_layer(cuts, ()), engraved(marks))
    return Drawing(f"film for {region.name}, true size", layers, about)


def labels_on(film: MaskFilm, size: FilmSize) -> tuple[Text, ...]:
    """Where the nose lies, the flank and the name, within each piece of the film, as tall as there is room for.

    The arrow head beside "nose" points to it, so that word is always level. A piece too small for all keeps the first
    that fit.
    """
    nose = "< nose" if FLANKS[film.side].nose == "left" else "nose >"
    wanted = (Wanted((nose,), upright=False), Wanted((f"{film.side} flank", film.side)), Wanted((film.name,)))
    heights = [float(height) for height in np.linspace(size.letter, size.least_letter, LETTER_STEPS)]
    pieces = film.sheet.decompose()
    return tuple(text for piece in pieces for text in lettered_within(piece, film.ticks, wanted, heights, size.edge))


def _loops(shape: manifold3d.CrossSection) -> list[Loop]:
    """Every contour that is more than a crumb."""
    found = []
    for chain in shape.simplify(STRAIGHT_MM).to_polygons():
        ring = [(round(float(x), 4), round(float(y), 4)) for x, y in chain]
        ring = [point for point, before in zip(ring, (ring[-1], *ring[:-1]), strict=True) if point != before]
        if len(ring) >= 3 and polygon(ring).area > CRUMB_MM2:
            found.append(polygon(ring))
    return found
