"""What is in how many pieces: the wood after every cut; halves and master, the body parted at y = 0 or held by stubs.

Is given the pins, stubs and holes as tools; where they go was decided in shop/jigs/.
"""

from collections.abc import Sequence
from functools import partial
from itertools import combinations

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.cuts.tip import ENDWISE
from bodygen.form.facing import Side, outwards
from bodygen.mesh.cut import SKIN, cut_with, cutting_solid, known_manifold, to_mesh
from bodygen.mesh.pieces import Pieces
from bodygen.mesh.skin import Faces, Mesh
from bodygen.mesh.stock import BaseMesh, Span, box_of, boxes_meet, span_of

CRUMB_MM3 = 1e-3
"""Pieces smaller than this are crumbs of a cut along a face, not wood."""
SAME_MM, APART_MM = 1e-9, 1e-6


def parts_left(pieces: Pieces, out: Sequence[int]) -> int:
    """How many pieces of wood [-] are left after every cut.

    A hole with wood all round it cannot part the body, unless it meets another cut. So only saw cuts are looked at,
    bores that start at nose or tail, those that come ``out`` (their places among the tools), and what meets any cut.
    Where what these take lies apart and its own skin tells that the body holds together, no more is cut for this.

    Derived here: a hole that no other cut meets leaves the body in one piece.
    """
    stock, tools = pieces.stock, pieces.tools
    boxes = [box_of(tool) for tool in tools]
    meet = {i for i, a in enumerate(boxes) for k, b in enumerate(boxes) if i != k and boxes_meet(a, b)}
    chosen = [
        i
        for i, tool in enumerate(tools)
        if i in meet or i in out or not isinstance(tool, Revolved) or abs(tool.axis[0]) > ENDWISE
    ]
    if stock.rings is not None and _surely_one(pieces, chosen):
        return 1
    key = ("parts", tuple(tools[i] for i in chosen))

    def counted() -> int:
        spans = [span_of(tools[i], boxes[i], *stock.extents) for i in chosen]
        span = min(a for a, _ in spans), max(b for _, b in spans)
        return _joined(stock.roughly(), span, [cutting_solid(tools[i]) for i in chosen])

    return stock.kept.of(key, counted) if chosen else 1


def _surely_one(pieces: Pieces, chosen: Sequence[int]) -> bool:
    """Whether a body that is a ball, as every drawn one is, surely stays in one piece for all that some cuts take."""
    taken = [(i, pieces.cavities[i]) for i in chosen if not pieces.cavities[i].is_empty()]
    grown = np.repeat([-APART_MM, APART_MM], 3)
    boxes = [np.array(cavity.bounding_box()) + grown for _, cavity in taken]
    if any(boxes_meet(a, b) for a, b in combinations(boxes, 2)):
        return False
    kept = pieces.stock.kept
    return all(kept.of(("leaves one", pieces.keys[i]), partial(_leaves_one, cavity)) for i, cavity in taken)


def _leaves_one(cavity: manifold3d.Manifold) -> bool:
    """Whether a cavity cut from a ball surely leaves one piece: a ball itself, of which what was cut hangs together.

    The pieces left are one more than the loops that its mouths have too many, and on a sphere so are the parts that
    the mouths leave of it.

    References
    ----------
    Alexander duality, for the ball's outside with the cavity, and on the cavity's skin for its mouths: A. Hatcher,
    Algebraic Topology (2002), theorem 3.44 (from memory).

    Examples
    --------
    >>> from bodygen.mesh.cut import to_manifold
    >>> body = to_manifold(to_mesh(manifold3d.Manifold.sphere(10.0, 32)), SKIN)
    >>> saw = manifold3d.Manifold.cube((2.0, 40.0, 40.0), True)
    >>> [_leaves_one(body ^ saw.translate((0.0, 0.0, z))) for z in (0.0, 15.0)]
    [False, True]
    """
    if cavity.genus() != 0:
        return False
    mesh = cavity.to_mesh64()
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    bounds = np.asarray(mesh.run_index).astype(np.int64) // 3
    of_skin = np.repeat(np.asarray(mesh.run_original_id) == SKIN, np.diff(bounds))
    walls = faces[~of_skin]
    return 0 < len(walls) < len(faces) and _hang_together(walls)


def _hang_together(faces: Faces) -> bool:
    """Whether some facets (m, 3) of a closed mesh are one, across their sides; False also where two sides are one."""
    ends = np.stack([faces, np.roll(faces, -1, axis=1)])
    side = (ends.min(axis=0) * (faces.max() + 1) + ends.max(axis=0)).ravel()
    order = np.argsort(side, kind="stable")
    side = side[order]
    if (side[2:] == side[:-2]).any():
        return False
    both = np.flatnonzero(side[1:] == side[:-1])
    one, other = order[both] // 3, order[both + 1] // 3
    first = np.arange(len(faces))  # of each facet the first that it is known to hang together with
    while True:
        lower = np.minimum(first[one], first[other])
        better = first.copy()
        np.minimum.at(better, one, lower)
        np.minimum.at(better, other, lower)
        better = better[better]
        if (better == first).all():
            return not first.any()
        first = better


def _joined(stock: BaseMesh, span: Span, cutting_solids: Sequence[manifold3d.Manifold]) -> int:
    """Pieces of a body that is cut within a span only: those that reach an end of it are one with what follows."""
    rows = stock.rows(span)
    parts = [p for p in cut_with(stock.around(span), cutting_solids).decompose() if p.volume() > CRUMB_MM3]
    if rows is None or stock.rings is None:
        return len(parts)
    x = stock.rings.half[:, :, 0]
    before = x[rows[0]].max() + SAME_MM if rows[0] > 0 else -np.inf
    beyond = x[rows[1]].min() - SAME_MM if rows[1] < len(x) - 1 else np.inf
    boxes = [part.bounding_box() for part in parts]
    to_nose, to_tail = [box[0] <= before for box in boxes], [box[3] >= beyond for box in boxes]
    alone = sum(not a and not b for a, b in zip(to_nose, to_tail, strict=True))
    across = any(a and b for a, b in zip(to_nose, to_tail, strict=True))
    rests = (rows[0] > 0) + (rows[1] < len(x) - 1)
    return alone + rests - across


def half(cut_body: Mesh, side: Side, pins: Sequence[Tool]) -> Mesh:
    """The right (y >= 0) or left half of a cut body, with its pin holes [mm].

    Raises
    ------
    DesignError
        When the half is not one piece.

    Examples
    --------
    >>> from bodygen.mesh.measure import enclosed
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> enclosed(half(box, "left", []))
    6000.0
    """
    drilled = cut_with(known_manifold(cut_body), [cutting_solid(pin) for pin in pins])
    return _one_piece(drilled.trim_by_plane((0.0, outwards(side), 0.0), 0.0), f"the {side} half")


def with_stubs(body: Mesh, stubs: Sequence[Tool], centre_holes: Sequence[Tool]) -> Mesh:
    """The body with its stubs added and the centre holes cut [mm].

    Raises
    ------
    DesignError
        When the result is not one piece.

    Examples
    --------
    >>> from bodygen.mesh.measure import enclosed
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> enclosed(with_stubs(box, [], []))
    12000.0
    """
    parts = [known_manifold(body), *(cutting_solid(stub) for stub in stubs)]
    whole = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
    return _one_piece(cut_with(whole, [cutting_solid(hole) for hole in centre_holes]), "the master")


def _one_piece(solid: manifold3d.Manifold, what: str) -> Mesh:
    pieces = [piece for piece in solid.decompose() if abs(piece.volume()) > CRUMB_MM3]
    if len(pieces) != 1:
        msg = f"{what} falls into {len(pieces)} pieces: a bore or slot cuts right through it"
        raise DesignError(msg)
    return to_mesh(pieces[0])
