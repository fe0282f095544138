"""The words of a surface: few points of back, belly and plan, a widest line, squareness; stations where these fail.

Each wording is read as the recipe's reader reads it, and held against the surface it is for: the shortest that lies
within what the measuring can tell is taken. Knows TOML's ``[shape]``.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.errors import BodygenError
from bodygen.form.body import Array, Body, fine_parameters
from bodygen.form.fairing.offsets import Offsets, refuse_folds, skin_through, surface_through
from bodygen.form.fairing.rows import between
from bodygen.form.fairing.shape import body_of
from bodygen.form.fairing.stations import offsets_of
from bodygen.form.integrals import body_volume
from bodygen.recipe.model import Recipe, Stations, Units
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.readers.stations import WIDEST_SHARES
from bodygen.scan.nearest import signed_distances
from bodygen.tables import load
from bodygen.units import INCH

COUNTS, MORE = (6, 8, 10, 13, 17, 22, 28, 36, 48), (64, 80)
"""How many points a line may have, the least first; ``MORE`` where only lines can say the flanks' flats."""
FEW = 16
PER_LINE = 6
FINEST_MM = 0.02
"""No wording is asked to be nearer than this."""
VOLUME_SHARE = 0.01
"""Of the volume, to each mm of noise [1/mm]: chords that are all a little inside make a smaller bait."""
EVEN, WHOLE = 0.03, 0.999
"""Flats are a share of the depth where that is the same within this; less of a half width left is an edge."""
DIGITS = 4
"""Of a row [mm]: near a round end rows lie closer than a hundredth."""
GREATEST = 3.0
"""How many times as far as 95 in 100 places the farthest may lie."""


@dataclass(frozen=True, slots=True, eq=False)
class Said:
    """``toml`` is the table ``[shape]``; ``stations`` the text of its CSV file, None where lines say it.

    ``body`` is what a recipe that says so has; ``off`` how far it lies from the surface it is for, at p95 [mm].
    """

    toml: str
    stations: str | None
    body: Body
    off: float


def said(offsets: Offsets, ruler: Units, noise: float, stations_file: str) -> Said:
    """Find the shortest words for a surface [mm] that lie within half of the noise [mm] of it.

    Raises
    ------
    DesignError
        The surface folds, and no lines make one that does not.
    """
    within = max(FINEST_MM, noise / 2)
    surface = surface_through(offsets)
    if not offsets.half_width.max() > 0:  # no lines can make a body of it
        refuse_folds(surface)
    places, volume = _places(surface), body_volume(surface).volume
    nearest: Said | None = None
    counts = COUNTS if offsets.flat is None else COUNTS + MORE
    for toml in (_lines(offsets, ruler, count) for count in counts if _has_axis(offsets, GREATEST * within)):
        found = _tried(toml, ruler, places)
        if found is None:
            continue
        way, farthest = found
        if nearest is None or way.off < nearest.off:
            nearest = way
        full = abs(body_volume(way.body).volume / volume - 1) <= VOLUME_SHARE * max(noise, 0.1)
        if full and way.off <= within and farthest <= GREATEST * within:
            return way
    try:
        measured = _by_stations(offsets, stations_file, places)
    except BodygenError:
        if nearest is None:
            raise
        return nearest
    return measured if nearest is None or measured.off < nearest.off else nearest


def _places(body: Body) -> Array:
    """Places all over the right half of the skin (k, 3) [mm]."""
    return np.asarray(body.points(fine_parameters(body, 2)[1:-1], 4).reshape(-1, 3))


def _tried(toml: str, ruler: Units, places: Array) -> tuple[Said, float] | None:
    """What a wording makes, and its farthest place [mm]; None where it makes no body."""
    try:
        body = body_of(recipe_of(toml, ruler))
    except BodygenError:
        return None
    off = np.abs(signed_distances(body, places))
    return Said(toml, None, body, float(np.percentile(off, 95))), float(off.max())


def _has_axis(offsets: Offsets, within: float) -> bool:
    """Whether the x axis lies within the body, or so near [mm] to it that lines drawn from it may still do."""
    return bool((offsets.top >= -within).all() and (offsets.bottom <= within).all())


def _lines(offsets: Offsets, ruler: Units, count: int) -> str:
    """``[shape]`` by lines of so many points; widest line and squareness need no more than ``FEW``."""
    length = float(offsets.x[-1])
    blunt = _bluntness(offsets, 0), _bluntness(offsets, -1)
    body = surface_through(offsets)
    x, _ = _rows(body, blunt, count)
    rows = ["[shape]", f"length = {_number(length, ruler)}"]
    for key, column, axis, sign in (("back", -1, 2, 1), ("belly", 0, 2, -1), ("plan", body.widest_index, 1, 1)):
        own = _with_greatest(body, x, column, axis, sign)
        height = np.maximum(sign * body.polygons(body.parameter_at(own))[:, column, axis], 0.0)
        for end in (0, -1):  # a point is one point on the axis, of all three lines
            if blunt[end] is not None:
                height[end] = 0.0
        rows += _curve(key, own, height, ruler)
    some, sections = _rows(body, blunt, min(count, FEW))
    widest = sections[:, 0, 2] + _widest_share(offsets, some) * (sections[:, -1, 2] - sections[:, 0, 2])
    if np.abs(widest - (sections[:, 0, 2] + sections[:, -1, 2]) / 2).max() > FINEST_MM:
        rows += _curve("widest", some, widest, ruler)
    rows += [*_squareness(offsets, some), *_flat_side(offsets, ruler)]
    ends = zip(("nose", "tail"), blunt, strict=True)
    return "\n".join([*rows, *(f"{name} = {{ bluntness = {b:g} }}" for name, b in ends if b is not None), ""])


def _with_greatest(body: Body, x: Array, column: int, axis: int, sign: int) -> Array:
    """The places with the nearest one moved to where the line is greatest: between two points beside it lies a flat."""
    u = fine_parameters(body, 12)
    polygon = body.polygons(u)
    greatest = int(np.argmax(sign * polygon[:, column, axis]))
    at, own = float(polygon[greatest, column, 0]), x.copy()
    if 0 < greatest < len(u) - 1 and len(x) > 2:
        own[1 + int(np.argmin(np.abs(own[1:-1] - at)))] = at
    return own


def _widest_share(offsets: Offsets, x: Array) -> Array:
    """How high the widest line lies at x (k,), as a share of the depth [-]; of a flat flank it lies within the flat."""
    depth = offsets.top - offsets.bottom
    known = depth > 1e-6
    return np.interp(x, offsets.x[known], ((offsets.widest - offsets.bottom)[known] / depth[known]))


def _rows(body: Body, blunt: tuple[float | None, float | None], count: int) -> tuple[Array, Array]:
    """So many places from nose to tail, closer at round ends [mm], and the control polygons there."""
    at = np.linspace(0, 1, count)
    x = between(np.zeros(count), np.full(count, body.length), at, body.length, (blunt[0] or 0.0, blunt[1] or 0.0))
    x[0], x[-1] = 0.0, body.length
    # at a very blunt end they would crowd closer than a recipe may have them
    least = 2 * float(load("limits")["line"]["points_apart_mm"])
    x = x[np.append(np.append(True, np.diff(x)[:-1] >= least) & (x[:-1] <= body.length - least), True)]
    return x, body.polygons(body.parameter_at(x))


def _bluntness(offsets: Offsets, end: int) -> float | None:
    """How an end closes, by how fast its first rows open; None for a sized one."""
    if offsets.top[end] - offsets.bottom[end] > 1e-6:
        return None
    size = (offsets.top - offsets.bottom) / 2 + offsets.half_width
    way = np.abs(offsets.x - offsets.x[end])
    order = np.argsort(way)
    way, size = way[order], size[order]
    near, far = (int(np.searchsorted(way, share * way[-1])) for share in (0.01, 0.05))
    near, far = max(near, 1), max(far, near + 1, 2)
    growth = float(np.log(size[far] / size[near]) / np.log(way[far] / way[near]))
    growth = min(max(growth, 0.25), 1.0)
    return round(2 * (1 - growth) if growth >= 0.5 else 1 / growth - 1, 1)


def _curve(key: str, x: Array, height: Array, ruler: Units) -> list[str]:
    """A line's points, a few to a line of the file."""
    points = [f"[{_number(a, ruler)}, {_number(b, ruler)}]" for a, b in zip(x, height, strict=True)]
    lines = [", ".join(points[i : i + PER_LINE]) for i in range(0, len(points), PER_LINE)]
    return [f"{key} = {{ points = [", *(f"    {line}," for line in lines), "] }"]


def _squareness(offsets: Offsets, x: Array) -> list[str]:
    """One number where it is the same all along and above as below, else lists over shares of the length."""
    halves = offsets.squareness_back, offsets.squareness_belly
    closed = offsets.top - offsets.bottom < 1e-6
    size = np.minimum((offsets.top - offsets.bottom) / 2, offsets.half_width)
    known = ~closed
    mean = [float(np.average(n[known], weights=size[known])) for n in halves]
    # how far a quarter moves with its exponent: about half of its smaller half size to a unit, at n = 2
    moves = max(float((np.abs(n - m) * size / 2)[known].max()) for n, m in zip(halves, mean, strict=True))
    if moves <= FINEST_MM and abs(mean[0] - mean[1]) < 0.02:
        return [f"squareness = {(mean[0] + mean[1]) / 2:.3g}"]
    texts = []
    for n, m in zip(halves, mean, strict=True):
        if (np.abs(n - m) * size / 2)[known].max() <= FINEST_MM:
            texts.append(f"{m:.3g}")
            continue
        at = np.interp(x, offsets.x[known], n[known])
        share = x / x[-1]
        texts.append(f"[{', '.join(f'[{s:.4g}, {v:.3g}]' for s, v in zip(share, at, strict=True))}]")
    return (
        [f"squareness = {texts[0]}"]
        if texts[0] == texts[1]
        else [f"squareness = {{ back = {texts[0]}, belly = {texts[1]} }}"]
    )


def _flat_side(offsets: Offsets, ruler: Units) -> list[str]:
    """``flat_side``, read off the deepest section: its height where that is a share of the depth, and the radius."""
    if offsets.flat is None:
        return []
    above, below, across = offsets.flat
    depth, half = offsets.top - offsets.bottom, offsets.half_width
    deep = int(np.argmax(depth))
    keys = []
    big = depth > 0.3 * depth[deep]
    share = (above + below)[big] / depth[big]
    if np.ptp(share) < EVEN:
        keys.append(f"height = {_number(float(share.mean()) * float(depth.max()), ruler)}")
    left = float(half[deep] - across[deep]) / float(half[deep])
    if left < WHOLE:  # the fourth-power mean of section.smaller_of, the other way round
        keys.append(f"edge_radius = {_number(float(half[deep]) / (left**-4 - 1) ** 0.25, ruler)}")
    return [f"flat_side = {{ {', '.join(keys)} }}"] if keys else []


def _by_stations(offsets: Offsets, file: str, places: Array) -> Said:
    """The surface by its own rows: sizes, the widest line, one squareness or two. Flat flanks have no column."""
    # what is written is rounded, and must still lie between the shares that a reader takes
    lost = np.minimum(10.0**-DIGITS / np.maximum(offsets.top - offsets.bottom, 1e-12), 0.4)
    share = np.clip(_widest_share(offsets, offsets.x), WIDEST_SHARES[0] + lost, WIDEST_SHARES[1] - lost)
    columns = offsets.x, offsets.top, offsets.bottom, offsets.half_width
    x, top, bottom, half = (np.round(column, DIGITS) for column in columns)
    for end in (0, -1):
        if _bluntness(offsets, end) is not None:  # exactly one point
            top[end] = bottom[end] = np.round((top[end] + bottom[end]) / 2, DIGITS)
            half[end] = 0.0
    widest = np.round(bottom + share * (top - bottom), DIGITS)
    back, belly = np.round(offsets.squareness_back, 3), np.round(offsets.squareness_belly, 3)
    rows = np.stack([x, top, bottom, half, back, belly, widest], axis=1).tolist()
    head = "x_mm,top_mm,bottom_mm,half_width_mm,squareness_back,squareness_belly,widest_mm"
    text = "\n".join([head, *(",".join(f"{v:.7g}" for v in row) for row in rows), ""])
    shares = (widest - bottom) / np.maximum(top - bottom, 10.0**-DIGITS)
    measured = Stations(
        file,
        tuple((a, b, c, d, e) for a, b, c, d, e, *_ in rows),
        lower=tuple(zip(belly.tolist(), shares.tolist(), strict=True)),
    )
    found = skin_through(offsets_of(measured))
    off = np.abs(signed_distances(found, places))
    return Said(f'[shape]\nstations = "{file}"\n', text, found, float(np.percentile(off, 95)))


def _number(millimetres: float, ruler: Units) -> str:
    """A bare number in the recipe's own units, to 0.01 mm or a tenth of a thousandth of an inch."""
    text = f"{millimetres / float(INCH):.4f}" if ruler == "in" else f"{millimetres:.2f}"
    short = text.rstrip("0").rstrip(".")
    return "0" if short in {"-0", ""} else short


def recipe_of(toml: str, ruler: Units) -> Recipe:
    """The recipe that a table ``[shape]`` alone makes."""
    return parse_recipe(f'format = 1\nunits = "{ruler}"\n{toml}')
