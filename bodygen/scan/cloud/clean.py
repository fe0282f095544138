"""What of a scan is the bait's body: loose shells, hooks, rings, lip and plates left out, before anything is fitted.

Knows points and their normals, whichever way those look. What is thin at a thin tail comes back as the fit grows.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.cloud.points import Cloud

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
THIN = 0.036
"""Share of the size below which two skins facing each other are wire or sheet: 2.5 mm of 70."""
LEAST_THIN = 0.3
"""In spacings: nearer than this, the other skin is this one's own roughness."""
NEIGHBOURS = 48
FACING, SQUARE = 0.7, 0.75
AMONG = 0.5
"""Share of the neighbours."""
SMALL_SHELL = 0.25
"""Share of the largest shell's area below which a shell is something loose."""
PLATE = 0.6
"""Share of a shell's area in one plane and its opposite, from which on it is a plate."""
OVER = 0.3
"""Share of a shell that lies in the box of the largest, above which it belongs to it."""
OPEN, RIM, RIMS = 0.3, 0.015, 0.02
"""Of two flanks: length of the normals' mean [-]; how near rims lie, as a share of the size; how much of the skin."""
SLICE, FEWEST = 0.015, 6
"""A slice of an end, as a share of the length; points that tell its size."""
ENDS = 0.55, 1.05
"""How large a slice of a thin end is at least and at most, to the one before it."""
FLAT = 0.02
"""Share of its length that a body is thick at least; a plane is not."""


@dataclass(frozen=True, slots=True)
class Shells:
    """Which points belong to shells of the body (k,), and what the others are: sentences."""

    body: Mask
    left_out: tuple[str, ...]
    bodies: int


def shells_of(cloud: Cloud) -> Shells:
    """Tell the body's shell from loose ones: the largest that is no plate, and those that lie over it.

    ``bodies`` counts shells of like size that stand apart: more than one is more than one bait.
    """
    numbers, shell = np.unique(cloud.shell, return_inverse=True)
    area = np.bincount(shell, cloud.areas)
    order = np.argsort(-area, kind="stable")
    tried = [i for i in order if area[i] > 0.02 * area[order[0]]]
    plates = [i for i in tried if _is_plate(cloud.taken(shell == i))]
    solid = [i for i in tried if i not in plates] or [order[0]]
    main = solid[0]
    kept, bodies = [main], 1
    for i in solid[1:]:
        over = _share_within(cloud.points[shell == i], cloud.points[shell == main])
        if area[i] < SMALL_SHELL * area[main]:
            continue
        if over > OVER or _are_flanks(cloud.taken(shell == main), cloud.taken(shell == i)):
            kept.append(i)
        else:
            bodies += 1
    loose = len(numbers) - len(kept) - sum(i in plates for i in tried if i not in kept)
    said = []
    if stand := [i for i in plates if i not in kept]:
        said.append(f"{len(stand)} loose plate{'s' if len(stand) > 1 else ''} (a stand or a lip)")
    if loose > 0:
        said.append(f"{loose} loose shell{'s' if loose > 1 else ''} beside the body")
    return Shells(np.isin(shell, kept), tuple(said), bodies)


def _are_flanks(one: Cloud, other: Cloud) -> bool:
    """Whether two open shells are a bait's flanks, scanned apart and laid together: rim to rim, facing away."""
    from scipy.spatial import cKDTree

    if min(one.one_sided, other.one_sided) < OPEN:
        return False
    ways = [each.areas @ each.normals / (each.areas.sum() * each.one_sided) for each in (one, other)]
    if ways[0] @ ways[1] > -FACING:
        return False
    reach = max(RIM * size_of(one), 2 * one.spacing)
    far = cKDTree(one.points).query(other.points, distance_upper_bound=reach)[0]
    return bool(np.isfinite(far).mean() > RIMS)


def _is_plate(cloud: Cloud) -> bool:
    """Whether one plane and its opposite hold most of the shell."""
    if len(cloud.points) < 8:
        return False
    spread = cloud.normals.T * cloud.areas @ cloud.normals / cloud.areas.sum()
    way = np.linalg.eigh(spread)[1][:, 2]
    return bool(cloud.areas[np.abs(cloud.normals @ way) > 0.985].sum() > PLATE * cloud.areas.sum())


def _share_within(points: Array, of: Array) -> float:
    """Which share of points lies in the box of others, turned along their own axes."""
    middle = of.mean(axis=0)
    axes = np.linalg.svd(of - middle, full_matrices=False)[2]
    low, high = np.quantile((of - middle) @ axes.T, [0.0, 1.0], axis=0)
    at = (points - middle) @ axes.T
    return float(((at >= low) & (at <= high)).all(axis=1).mean())


def is_flat(cloud: Cloud) -> bool:
    """Whether the points have no thickness to speak of: a plane, a plate."""
    at = cloud.points - cloud.points.mean(axis=0)
    axes = np.linalg.svd(at[:: max(1, len(at) // 3000)], full_matrices=False)[2]
    size = np.ptp(at @ axes.T, axis=0)
    return bool(size.min() < FLAT * size.max())


def thin_points(cloud: Cloud) -> Mask:
    """Which points (k,) lie on wire or sheet: another skin faces them near by."""
    from scipy.spatial import cKDTree

    size = size_of(cloud)
    reach = THIN * size
    one = _one_to_a_cell(cloud)
    evenly = cloud.taken(one)
    tree = cKDTree(evenly.points)
    far, near = tree.query(cloud.points, k=min(NEIGHBOURS, len(evenly.points)), distance_upper_bound=reach)
    none = ~np.isfinite(far)
    near = np.where(none, 0, near)
    around = _smoothed(evenly, near, none, cloud.normals)
    gap = evenly.points[near] - cloud.points[:, None]
    over = np.abs(np.einsum("ijk,ik->ij", gap, around))
    alike = np.abs(np.einsum("ijk,ik->ij", evenly.normals[near], around)) > FACING
    opposite = alike & ~none & (over > SQUARE * far) & (far > LEAST_THIN * cloud.spacing) & (far > 0.006 * size)
    thin = opposite.sum(axis=1) >= 2
    # one that lies among thin ones is thin itself: at the rim of a sheet nothing faces it
    among = (thin[one][near] & ~none).sum(axis=1) > AMONG * (~none).sum(axis=1)
    return np.asarray(thin | among)


def _one_to_a_cell(cloud: Cloud) -> NDArray[np.int64]:
    """Numbers of points, one of each cell as wide as the spacing: as dense everywhere, however fine the mesh."""
    step = np.floor((cloud.points - cloud.points.min(axis=0)) / (0.8 * cloud.spacing)).astype(np.int64)
    most = step.max(axis=0) + 1
    return np.unique((step[:, 0] * most[1] + step[:, 1]) * most[2] + step[:, 2], return_index=True)[1]


def size_of(cloud: Cloud) -> float:
    """About the bait's length: what most of the area spans along its own long axis."""
    at = cloud.points - (cloud.areas @ cloud.points) / cloud.areas.sum()
    way = np.linalg.eigh(at.T * cloud.areas @ at)[1][:, 2]
    low, high = np.quantile(at @ way, [0.01, 0.99])
    return float(high - low)


def _smoothed(cloud: Cloud, near: Array, none: Mask, own: Array) -> Array:
    """Normals averaged over the nearest dozen that look the same way as one's own (k, 3): a scan's own are rough."""
    some = cloud.normals[near[:, :12]]
    same = np.clip(np.einsum("ijk,ik->ij", some, own), 0.0, None) * ~none[:, :12]
    normal = np.einsum("ij,ijk->ik", same, some) + 0.2 * own
    return np.asarray(normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None])


def core_of(cloud: Cloud, thin: Mask) -> Mask:
    """The largest connected part (k,) of what is not thin; of a bait that is thin all over, everything."""
    thick = np.flatnonzero(~thin)
    if cloud.areas[thick].sum() < 0.3 * cloud.areas.sum():
        return np.ones(len(thin), dtype=bool)
    number = clusters(cloud.points[thick], 3.0 * cloud.spacing)
    area = np.bincount(number, cloud.areas[thick])
    core = np.zeros(len(thin), dtype=bool)
    core[thick[number == np.argmax(area)]] = True
    return core


def with_thin_ends(cloud: Cloud, core: Mask) -> Mask:
    """The core (k,), and the thin ends of the body that go on from it: slice by slice a little smaller, never larger.

    Hooks, wire and lips begin much smaller than the body ends, or grow out of it.
    """
    at = cloud.points - cloud.points[core].mean(axis=0)
    along = np.linalg.eigh(at[core].T * cloud.areas[core] @ at[core])[1][:, ::-1]
    at = at @ along
    step = SLICE * float(np.ptp(at[core, 0]))
    whole = core.copy()
    for way in (1.0, -1.0):
        x = way * at[:, 0]
        begin = float(np.quantile(x[core], 0.97))
        before: Array | None = None
        while True:
            here = (x >= begin) & (x < begin + step)
            if here.sum() < FEWEST:
                break
            thick = here & core
            if thick.sum() > AMONG * here.sum():
                size = np.ptp(at[thick, 1:], axis=0)
            else:
                size = np.ptp(at[here, 1:], axis=0)
                if before is None or not ((size < ENDS[1] * before) & (size > ENDS[0] * before)).all():
                    break
                whole |= here
            before, begin = size, begin + step
    return whole


def clusters(points: Array, reach: float) -> NDArray[np.int64]:
    """The number (k,) of the cluster of each point: those nearer to each other than ``reach`` are in one."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(points).query_pairs(reach, output_type="ndarray")
    graph = coo_matrix((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(points),) * 2)
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)
