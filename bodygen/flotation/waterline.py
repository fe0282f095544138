"""Where the water meets the skin.

Knows a hull and one plane. Knows nothing of balance.
"""

import numpy as np

from bodygen.flotation.equilibrium import Vector
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array


def waterlines(hull: Hull, up: Vector | Array, water_height: float) -> tuple[Array, ...]:
    """Trace the closed lines in which the water meets the skin.

    Derived here: from edge to edge of the cut faces, each point where its edge meets the plane.

    Parameters
    ----------
    hull : Hull
        Closed shells [mm]; vertices may be stored more than once.
    up : (3,)
        The vertical in body axes [-].
    water_height : float
        The water stands where up . p is this [mm].

    Returns
    -------
    tuple of (k, 3) arrays
        One loop each, body axes [mm], the first point not repeated, the wet side on the left seen from outside.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> (loop,) = waterlines(hull, np.array([0.0, 0, 1]), -1.0)
    >>> loop.min(axis=0).tolist(), loop.max(axis=0).tolist()
    ([-30.0, -10.0, -1.0], [30.0, 10.0, -1.0])
    """
    _, first, same = np.unique(hull.vertices, axis=0, return_index=True, return_inverse=True)
    points = hull.vertices[first]
    faces = same.reshape(-1)[hull.faces]
    s = points @ np.asarray(up) - water_height
    wet = s < 0
    count = wet[faces].sum(axis=1)
    cut = faces[(count > 0) & (count < 3)]
    tail, head = cut, np.roll(cut, -1, axis=1)
    out = wet[tail] & ~wet[head]  # each cut face is left through one edge and entered through one
    back = ~wet[tail] & wet[head]
    leaving = np.stack([tail[out], head[out]], axis=1)
    entering = np.stack([head[back], tail[back]], axis=1)  # as (wet, dry), the way its neighbour leaves
    following: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for here, there in zip(leaving.tolist(), entering.tolist(), strict=True):
        following.setdefault((here[0], here[1]), []).append((there[0], there[1]))
    loops = []
    while following:
        edge = next(iter(following))
        chain = []
        while edge in following:
            chain.append(edge)
            onward = following[edge]
            edge, rest = onward[0], onward[1:]
            if rest:
                following[chain[-1]] = rest
            else:
                del following[chain[-1]]
        ends = np.array(chain)
        share = (s[ends[:, 0]] / (s[ends[:, 0]] - s[ends[:, 1]]))[:, None]
        loop = points[ends[:, 0]] + share * (points[ends[:, 1]] - points[ends[:, 0]])
        moved = np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1) > 1e-9 * hull.size
        if moved.sum() > 2:
            loops.append(loop[moved])
    return tuple(loops)
