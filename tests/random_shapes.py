"""Random bodies for whole random recipes: outlines by family or by a person's own points, stations, meshes.

Plain numpy from a seed. Own points are as people draw them: unevenly far apart, some doubled at a pencil's width, with
corners beside each other and beside the ends, near straight runs, and now and then a slip.
"""

from collections.abc import Callable
from typing import Any

import numpy as np

Rng = np.random.Generator
Say = Callable[[float], str | float]
Doc = dict[str, Any]
Ends = tuple[float, float]
FAMILIES = ("acorn", "leaf", "reed", "pebble", "shuttle", "gable")


def random_ends(rng: Rng) -> Ends:
    """Shares of the greatest height that are left at nose and tail [-]: mostly none."""
    nose, tail = rng.choice([0.0, 0.0, 0.0, 0.15, 0.4], 2)
    return float(nose), float(tail)


def random_line(rng: Rng, length: float, ends: Ends | None = None) -> tuple[list[float], list[float], list[int]]:
    """Places [mm] from 0 to ``length``, heights as shares of the greatest [-], and which of the places are corners.

    ``ends`` are the shares left at nose and tail, where it matters.
    Heights rise to one greatest place and fall again, near an end like x^p, p from 0.5 (round) to 1 (pointed).
    """
    greatest = rng.uniform(0.25, 0.6)
    inner = rng.uniform(0.04, 0.96, rng.integers(2, 9))
    inner = np.append(inner, greatest)
    if rng.random() < 0.5:  # two, now and then three, close to each other
        at = rng.uniform(0.1, 0.9)
        inner = np.append(inner, at + np.cumsum(np.append(0.0, rng.uniform(0.5, 8.0, rng.integers(1, 3)))) / length)
    close = [1.0 / length * rng.uniform(0.3, 1.0), 1 - rng.uniform(1.0, 2.0) / length, 1 - rng.uniform(0.2, 1) / length]
    inner = np.append(inner, [at for at in close if rng.random() < 0.15])
    inner = np.unique(inner[(inner > 0.1 / length) & (inner < 1 - 0.1 / length)].round(4))
    if rng.random() < 0.95:  # nearer than a pencil line is wide is refused
        inner = inner[np.append(True, np.diff(inner) * length > 0.1)]
    p, q = rng.uniform(0.5, 1.0, 2)
    ends = random_ends(rng) if ends is None else ends
    front, back = np.clip(inner / greatest, 0, 1), np.clip((1 - inner) / (1 - greatest), 0, 1)
    rise = np.where(inner < greatest, (1 - (1 - front) ** 1.8) ** p, (1 - (1 - back) ** 1.8) ** q)
    height = np.where(inner < greatest, ends[0] + (1 - ends[0]) * rise, ends[1] + (1 - ends[1]) * rise)
    height *= 1 + rng.choice([0.0, 0.004, 0.03]) * rng.standard_normal(len(inner))  # a hand is not a formula
    places = [0.0, *(inner * length), length]
    corners = [i for i in range(1, len(places) - 1) if rng.random() < 0.25]
    return places, [float(ends[0]), *np.maximum(height, 0.02), float(ends[1])], corners


def own_line(rng: Rng, length: float, full: float, whole: str | float, say: Say, ends: Ends | None = None) -> Doc:
    """A line of own points as a recipe has it: in lengths (``full`` mm high) or in shares."""
    places, heights, corners = random_line(rng, length, ends)
    if rng.random() < 0.4:
        corners = []
    marks = [["corner"] if i in corners else [] for i in range(len(places))]
    if rng.random() < 0.5:
        top = max(heights)
        shares = [round(x / length, 5) for x in places]
        return {"fractions": [[x, round(y / top, 4), *m] for x, y, m in zip(shares, heights, marks, strict=True)]}
    texts = [0, *(say(x) for x in places[1:-1]), whole]  # the last one as the length itself is written
    return {"points": [[x, say(y * full), *m] for x, y, m in zip(texts, heights, marks, strict=True)]}


def _lines(rng: Rng, size: tuple[float, float, float], whole: str | float, say: Say) -> Doc:
    """Back, belly and plan, each a family or own points; now and then one is left out."""
    ends = random_ends(rng) if rng.random() < 0.9 else None  # None: each line its own, and edges are refused
    lines: Doc = {}
    for key, full in (("back", size[1] / 2), ("belly", size[1] / 2), ("plan", size[2] / 2)):
        own = rng.random() < 0.5 or ends not in {None, (0.0, 0.0)}  # families close at both ends
        if own or rng.random() < 0.9:
            line = own_line(rng, size[0], full, whole, say, ends)
            lines[key] = line if own else str(rng.choice(FAMILIES))
    return lines


def _in_lengths(line: Any) -> bool:
    return isinstance(line, dict) and "points" in line


def drawn(rng: Rng, size: tuple[float, float, float], say: Say) -> Doc:
    """``[shape]`` by parameters, with any of its keys."""
    length, depth, thickness = size
    whole = say(length)
    shape: Doc = {"length": whole} | _lines(rng, size, whole, say)
    if not (_in_lengths(shape.get("back")) and _in_lengths(shape.get("belly"))):
        shape["depth"] = say(depth)
    if not _in_lengths(shape.get("plan")):
        shape["thickness"] = say(thickness)
    if rng.random() < 0.3:
        shape["back_share"] = round(rng.uniform(0.3, 0.7), 3)
    if rng.random() < 0.25:
        at = sorted(rng.uniform(0.1, 0.9, 3).round(3))
        rows = [[x, round(rng.uniform(-0.08, 0.08), 3)] for x in at]
        shape["widest"] = {"fractions": [[0, 0], *rows, [1, 0]]}
    if rng.random() < 0.6:
        n = lambda: round(rng.uniform(1.5, 4.0), 2)  # noqa: E731  said three times on the next lines
        run = [[0, n()], [round(rng.uniform(0.2, 0.8), 2), n()], [1, n()]]
        shape["squareness"] = rng.choice(np.array([n(), run, {"back": n(), "belly": run}], dtype=object))
    for end in ("nose", "tail"):
        if rng.random() < 0.3:
            shape[end] = {"bluntness": round(rng.uniform(0.0, 2.0), 2)}
        if rng.random() < 0.2:
            shape.setdefault(end, {})["size"] = round(rng.uniform(0.05, 0.6), 2)
    if rng.random() < 0.25:
        flat: Doc = {"height": say(depth * rng.uniform(0.15, 0.6)), "edge_radius": say(depth * rng.uniform(0.05, 0.4))}
        shape["flat_side"] = {k: v for k, v in flat.items() if rng.random() < 0.7} or flat
    return shape


def _sections(rng: Rng, size: tuple[float, float, float], count: int) -> np.ndarray:
    """Rows (count, 5): x, back, belly, half width [mm], squareness; the ends pointed, rounded or sawn off."""
    length, depth, thickness = size
    t = np.sort(np.append(rng.uniform(0.01, 0.99, count - 2), [0.0, 1.0]))
    t = np.where(np.arange(count) == 0, 0.0, np.where(np.arange(count) == count - 1, 1.0, t))
    p, q = rng.uniform(0.45, 1.0, 2)
    m = rng.uniform(0.3, 0.55)
    front, back = np.clip(1 - t / m, 0, 1), np.clip((t - m) / (1 - m), 0, 1)
    rise = np.where(t < m, (1 - front**2) ** p, (1 - back**2) ** q)
    ends = rng.choice([0.0, 0.0, 0.3], 2)
    rise = np.where(t < m, ends[0] + (1 - ends[0]) * rise, ends[1] + (1 - ends[1]) * rise)
    bow = rng.uniform(-0.1, 0.1) * depth * np.sin(np.pi * t)
    square = np.full(count, rng.uniform(1.8, 3.0)) + rng.uniform(0, 0.5) * t
    return np.stack([t * length, bow + depth / 2 * rise, bow - depth / 2 * rise, thickness / 2 * rise, square], axis=1)


def stations(rng: Rng, size: tuple[float, float, float]) -> str:
    """A CSV of measured sections, 5 to 60 rows (some day a copy machine's 400), to the hundredth of a calliper."""
    rows = _sections(rng, size, int(rng.choice([5, 6, 9, 15, 30, 60, 400])))
    rows[:, 1:4] = (rows[:, 1:4] / 0.01).round() * 0.01
    rows[:, 0] = rows[:, 0].round(3)
    rows = rows[np.append(True, np.diff(rows[:, 0]) > 0)]
    five = rng.random() < 0.5
    header = "x_mm,top_mm,bottom_mm,half_width_mm" + (",squareness" if five else "")
    return "\n".join([header, *(",".join(f"{v:.10g}" for v in row[: 5 if five else 4]) for row in rows)]) + "\n"


def mesh(rng: Rng, size: tuple[float, float, float], scale: float) -> str:
    """A closed body as an OBJ file in numbers of ``scale`` mm, flank to flank alike."""
    rows = _sections(rng, size, 24)
    around = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    middle, half = (rows[1:-1, 1] + rows[1:-1, 2]) / 2, (rows[1:-1, 1] - rows[1:-1, 2]) / 2
    y = rows[1:-1, 3, None] * np.cos(around)
    z = middle[:, None] + half[:, None] * np.sin(around)
    ring = np.stack([np.broadcast_to(rows[1:-1, :1], y.shape), y, z], axis=2).reshape(-1, 3)
    ends = [[0, 0, rows[0, 1:3].mean()], [rows[-1, 0], 0, rows[-1, 1:3].mean()]]
    points = np.concatenate([ring, ends]) / scale
    index = np.arange(len(ring)).reshape(len(y), -1) + 1
    a, b, c, d = index[:-1], np.roll(index[:-1], -1, 1), index[1:], np.roll(index[1:], -1, 1)
    sides = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([b, d, c], -1).reshape(-1, 3)])
    nose, tail = len(ring) + 1, len(ring) + 2
    caps = [[nose, j, i] for i, j in zip(index[0], np.roll(index[0], -1), strict=True)]
    caps += [[tail, i, j] for i, j in zip(index[-1], np.roll(index[-1], -1), strict=True)]
    faces = [*sides.tolist(), *caps]
    text = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in points] + [f"f {i} {j} {k}" for i, j, k in faces]
    return "\n".join(text) + "\n"
