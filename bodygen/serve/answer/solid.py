"""The bait as triangles for the screen: numbers in one run of bytes, and where in it each part lies.

Of each corner three 32-bit places and four 16-bit shares of a normal (the fourth fills up); of each triangle three
numbers of corners, 16-bit where these have room. Every kind begins at a multiple of 4 bytes.

Nothing is measured on these. ``coarse``: fewer facets, while a hand moves. A part's name follows from its numbers: one
that the page holds already is told by that alone.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from hashlib import blake2b
from typing import Any

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bodygen.assessment import Shaped
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.integrals import Array
from bodygen.kept import Kept
from bodygen.mesh.cut import cut_with, cutting_solid
from bodygen.serve.answer.hanging import Strand
from bodygen.serve.answer.known import Known
from bodygen.weights.measured import metal_in

SHARP_DEG = 40.0
"""Faces that meet at a larger angle have an edge between them."""
SHOWN = 24
"""Cut bodies and other parts that are kept for the next answer."""
ROUND = 24
"""Sides of a bore while a hand moves: of one 6 mm wide they lie within 0.03 mm of its circle."""
FEW_CORNERS, MOST_OF_16 = 65536, 32767
"""So many corners have numbers of 16 bits; what stands for 1 in a normal."""
SIDES = 7
"""Of the tube that a wire is drawn as."""


@dataclass(frozen=True, slots=True, eq=False)
class ScreenPart:
    """One part for the screen; ``runs`` are its positions, normals and index as they go to the page, with their names.

    ``sizes`` says how many numbers each of them has.
    """

    role: str
    colour: str | None
    name: str
    runs: dict[str, bytes]
    sizes: dict[str, int]


def solid_of(
    known: Known, strands: Sequence[Strand], holds: Collection[str] = (), *, coarse: bool
) -> tuple[dict[str, Any], bytes]:
    """The parts as JSON with their places in the bytes, and the bytes, less those of parts that the page ``holds``."""
    parts, sent, at = [], list[bytes](), 0
    for facets in _parts(known, strands, coarse=coarse):
        places: dict[str, list[int] | None] = dict.fromkeys(facets.runs)
        if facets.name not in holds:
            for kind, run in facets.runs.items():
                places[kind] = [at, facets.sizes[kind]]
                at += len(run)
                sent.append(run)
        parts.append({"role": facets.role, "colour": facets.colour, "name": facets.name, **places})
    return {"coarse": coarse, "parts": parts}, b"".join(sent)


def _parts(known: Known, strands: Sequence[Strand], *, coarse: bool) -> Iterator[ScreenPart]:
    shaped = known.shaped
    shown = shaped.base_body.stock.kept.of("shown", lambda: Kept(SHOWN))
    body = shown.of(("body", shaped.tools, coarse), lambda: screen_part("body", _cut(shaped, coarse=coarse)))
    yield replace(body, colour=ground_colour(known))
    if shaped.set_plate is not None:
        plate = shaped.set_plate.exposed
        yield shown.of(("lip", plate), partial(screen_part, "lip", plate))
    for place, tool in enumerate(shaped.tools):
        metal = metal_in(known.recipe, tool, place, shaped.pieces) if isinstance(tool, Revolved) else None
        if metal is not None:
            yield shown.of(("metal", metal[0]), partial(screen_part, "metal", metal[0]))
    for place, tool in enumerate(shaped.tools):
        if isinstance(tool, Revolved) and tool.kind == "eye" and _has_eye(known, tool):
            solid = shaped.pieces.cavities[place]
            yield shown.of(("eye", shaped.pieces.keys[place]), partial(screen_part, "eye", solid))
    for role in dict.fromkeys(strand.role for strand in strands):
        yield _tubes(role, [strand for strand in strands if strand.role == role])


def _has_eye(known: Known, tool: Revolved) -> bool:
    name = known.recipe.bores[tool.bore].name
    return any(fitting.kind == "eye" and fitting.on == name for fitting in known.recipe.fittings)


def ground_colour(known: Known) -> str | None:
    """What is painted all over, ``#rrggbb``; None for bare wood."""
    whole = [paint.colour for paint in known.recipe.paints if paint.mask is None and paint.region in {None, "whole"}]
    return whole[-1] if whole else None


def _cut(shaped: Shaped, *, coarse: bool) -> manifold3d.Manifold:
    """The body less every cut; while one cut moves, what the others leave is kept."""
    stock = shaped.base_body.stock
    if not coarse:
        return cut_with(stock.whole(), shaped.pieces.cutting_solids)
    whole = stock.roughly().whole()
    solids = {tool: stock.kept.of(("shown", tool), partial(cutting_solid, tool, ROUND)) for tool in shaped.tools}
    last: list[tuple[Tool, ...]] = stock.kept.of("last shown", lambda: [()])
    stay = tuple(tool for tool in solids if tool in last[0])
    last[0] = shaped.tools
    left = stock.kept.of("left", lambda: Kept(2)).of(stay, lambda: cut_with(whole, [solids[tool] for tool in stay]))
    return cut_with(left, [solids[tool] for tool in solids if tool not in stay])


def screen_part(role: str, solid: manifold3d.Manifold) -> ScreenPart:
    """A solid with its normals, edges kept."""
    mesh = solid.calculate_normals(0, SHARP_DEG).to_mesh()
    values = np.asarray(mesh.vert_properties, dtype=np.float32)
    return _packed(role, values[:, :3], values[:, 3:6], np.asarray(mesh.tri_verts))


def _packed(role: str, positions: NDArray[Any], normals: NDArray[Any], index: NDArray[Any]) -> ScreenPart:
    """A part of positions and unit normals (n, 3) and index (m, 3)."""
    short = np.zeros((len(normals), 4), dtype="<i2")
    short[:, :3] = np.rint(normals * MOST_OF_16)
    numbers = {
        "positions": positions.astype("<f4"),
        "normals": short,
        "index": index.astype("<u2" if len(positions) <= FEW_CORNERS else "<u4"),
    }
    runs = {kind: values.tobytes() for kind, values in numbers.items()}
    runs["index"] += bytes(-len(runs["index"]) % 4)
    name = blake2b(b"".join(runs.values()), digest_size=8).hexdigest()
    return ScreenPart(role, None, name, runs, {kind: values.size for kind, values in numbers.items()})


def _tubes(role: str, strands: Sequence[Strand]) -> ScreenPart:
    """Wires as tubes, in one part."""
    made = [(strand, _tube(strand.own or strand)) for strand in strands]
    starts = np.cumsum([0, *(len(points) for _, (points, _, _) in made)])
    index = [faces + start for (_, (_, _, faces)), start in zip(made, starts, strict=False)]
    positions = np.concatenate([points @ strand.turn + strand.at for strand, (points, _, _) in made])
    normals = np.concatenate([normals @ strand.turn for strand, (_, normals, _) in made])
    return _packed(role, positions, normals, np.concatenate(index))


@lru_cache(maxsize=128)  # by the strand itself: a hook is the same wherever it hangs
def _tube(strand: Strand) -> tuple[Array, Array, NDArray[np.int64]]:
    """Points and normals (k * SIDES, 3) and faces of one tube, before it is turned and moved."""
    line = strand.line
    count = len(line)
    along = np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0) if strand.closed else np.gradient(line, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    side = np.eye(3)[int(np.argmin(np.abs(along).sum(axis=0)))]
    first = np.cross(along, side)
    first /= np.maximum(np.linalg.norm(first, axis=1, keepdims=True), 1e-9)
    second = np.cross(along, first)
    turn = np.linspace(0, 2 * np.pi, SIDES, endpoint=False)
    normals = np.cos(turn)[None, :, None] * first[:, None] + np.sin(turn)[None, :, None] * second[:, None]
    points = line[:, None] + normals * (strand.thick / 2)
    rows = np.arange(count if strand.closed else count - 1)
    a = (rows[:, None] * SIDES + np.arange(SIDES)).ravel()
    b = (rows[:, None] * SIDES + (np.arange(SIDES) + 1) % SIDES).ravel()
    c, d = (((one // SIDES + 1) % count) * SIDES + one % SIDES for one in (a, b))
    faces = np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)])
    return points.reshape(-1, 3), normals.reshape(-1, 3), faces
