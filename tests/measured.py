"""Baits that a hand might have drawn, others that no recipe of ours can say, and readings of them by callipers.

A surface is told by functions of x alone, so that none of the project's own curves is needed to measure it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bodygen.form.fairing.shape import body_of
from bodygen.recipe.read import parse_recipe
from bodygen.scan.nearest import signed_distances

FAMILIES = ("acorn", "leaf", "reed", "pebble", "shuttle", "gable")
HEAD = "x_mm,top_mm,bottom_mm,half_width_mm,squareness,widest_mm"
EVENLY = np.linspace(0, 1, 12)


def _line(rng):
    """A family, or three to five points of a line that rises once and falls once, 1 % off as a hand is."""
    if rng.random() < 0.4:
        return f'"{rng.choice(FAMILIES)}"'
    greatest = rng.uniform(0.28, 0.55)
    at = np.linspace(0.06, 0.94, rng.integers(3, 6))
    at = np.unique(np.append(at[np.abs(at - greatest) > 0.08], greatest).round(3))
    p, q = rng.uniform(0.5, 1.0, 2)
    a, b = rng.uniform(1.4, 2.2, 2)
    front, back = np.clip(at / greatest, 0, 1), np.clip((at - greatest) / (1 - greatest), 0, 1)
    height = np.where(at <= greatest, (1 - (1 - front) ** a) ** p, (1 - back**b) ** q)
    height *= 1 + 0.01 * rng.standard_normal(len(at))
    points = ", ".join(f"[{x:.3f}, {y:.4f}]" for x, y in zip(at, np.minimum(height / height.max(), 1), strict=True))
    return f"{{ fractions = [[0, 0], {points}, [1, 0]] }}"


def drawn(seed: int):
    """A random drawn body and its squareness."""
    rng = np.random.default_rng(seed)
    length, square = rng.uniform(50, 130), rng.uniform(1.8, 3.2)
    depth = length * rng.uniform(0.2, 0.36)
    rows = [f"length = {length:.1f}", f"depth = {depth:.2f}", f"thickness = {depth * rng.uniform(0.55, 0.95):.2f}"]
    rows += [f"{name} = {_line(rng)}" for name in ("back", "belly", "plan")]
    rows += [f"back_share = {rng.uniform(0.35, 0.65):.2f}", f"squareness = {square:.2f}"]
    rows += [f"tail = {{ size = {rng.uniform(0.1, 0.3):.2f} }}"] if rng.random() < 0.3 else []
    return body_of(parse_recipe("\n".join(["format = 1", "[shape]", *rows]))), round(square, 2)


@dataclass(frozen=True)
class Carved:
    """A skin as functions of x [mm]: back, belly, flank, widest line; exponents above and below it."""

    length: float
    top: Callable
    bottom: Callable
    half: Callable
    widest: Callable
    above: float
    below: float

    def places(self, rows=80, around=24):
        """Points of the right half (k, 3) and the area that each stands for (k,)."""
        x = self.length * (1 - np.cos(np.linspace(0.02, np.pi - 0.02, rows))) / 2
        turn = np.linspace(-np.pi / 2, np.pi / 2, around)
        n = np.where(turn > 0, self.above, self.below)
        c, s = np.cos(turn)[None], np.sin(turn)[None]
        reach = (np.abs(c) ** n + np.abs(s) ** n) ** (-1 / n)
        up, down = self.top(x) - self.widest(x), self.widest(x) - self.bottom(x)
        y = self.half(x)[:, None] * reach * c
        z = self.widest(x)[:, None] + np.where(turn > 0, up[:, None], down[:, None]) * reach * s
        grid = np.stack([np.broadcast_to(x[:, None], y.shape), y, z], axis=2)
        return grid.reshape(-1, 3), areas(grid)

    def volume(self) -> float:
        """By areas of superellipses (DLMF 5.14) and Simpson's rule [mm^3]."""
        from math import gamma

        share = [gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n) for n in (self.above, self.below)]
        x = np.linspace(0, self.length, 4001)
        up, down = self.top(x) - self.widest(x), self.widest(x) - self.bottom(x)
        area = 2 * self.half(x) * (up * share[0] + down * share[1])
        weight = np.ones(4001)
        weight[1:-1:2], weight[2:-1:2] = 4, 2
        return float((area * weight).sum() * self.length / 4000 / 3)


def carved(seed: int) -> Carved:
    """A skin outside our own family: a bent axis, unequal exponents, a hollow behind the gill."""
    rng = np.random.default_rng(seed)
    length = rng.uniform(60, 120)
    deep, thick = length * rng.uniform(0.1, 0.16), length * rng.uniform(0.07, 0.12)
    front, rear = rng.uniform(0.5, 0.6), rng.uniform(0.7, 1.0)
    place, bend, hollow, at = (
        rng.uniform(0.5, 0.8),
        rng.uniform(-0.02, 0.02),
        rng.uniform(0.0, 0.05),
        rng.uniform(0.2, 0.3),
    )

    def form(x):
        s = np.clip(x / length, 0, 1)
        peak = (front / (front + rear)) ** front * (rear / (front + rear)) ** rear
        dent = 1 - hollow * np.exp(-(((s - at) / 0.06) ** 2))
        return s**front * (1 - s) ** rear / peak * dent

    def axis(x):
        return bend * length * np.sin(np.pi * x / length)

    return Carved(
        length,
        lambda x: axis(x) + place * 2 * deep * form(x),
        lambda x: axis(x) - (1 - place) * 2 * deep * form(x),
        lambda x: thick * form(x),
        lambda x: axis(x) + (2 * place - 1) * deep * form(x),
        rng.uniform(1.8, 2.6),
        rng.uniform(2.0, 3.2),
    )


def areas(grid):
    """What area each point of a grid (m, n, 3) stands for (m n,)."""
    return np.linalg.norm(np.cross(np.gradient(grid, axis=0), np.gradient(grid, axis=1)), axis=2).ravel()


def body_rows(body, shares=EVENLY):
    """Places [mm, as a calliper says them] and back, belly, flank, widest line there."""
    x = np.round(body.length * np.asarray(shares), 1)
    polygon = body.polygons(body.parameter_at(np.minimum(x, body.length)))
    wide = body.widest_index
    return x, np.stack([polygon[:, -1, 2], polygon[:, 0, 2], polygon[:, wide, 1], polygon[:, wide, 2]], axis=1)


def carved_rows(skin: Carved, shares=EVENLY):
    """The same of a carved skin."""
    x = np.round(skin.length * np.asarray(shares), 1)
    at = np.minimum(x, skin.length)
    return x, np.stack([skin.top(at), skin.bottom(at), skin.half(at), skin.widest(at)], axis=1)


def table(x, sizes, square=None, *, widest=True, slip=None) -> str:
    """Readings rounded to 0.1 mm; ``slip`` is (row, column, mm). ``square``: one exponent, or (above, below)."""
    sizes = np.round(sizes, 1)
    if slip:
        sizes[slip[0], slip[1]] += slip[2]
    head = "x_mm,top_mm,bottom_mm,half_width_mm"
    both = () if square is None else (square, square) if np.isscalar(square) else square
    head += ",widest_mm" * widest + ",squareness_back,squareness_belly" * bool(both)
    rows = [
        ",".join([f"{a:.1f}", *(f"{v:.1f}" for v in row[: 3 + widest]), *(f"{n:g}" for n in both)])
        for a, row in zip(x, sizes, strict=True)
    ]
    return "\n".join([head, *rows, ""])


def body_places(body):
    """Points of a body's right half (k, 3) and the area of each (k,)."""
    grid = body.points(np.linspace(0.004, 0.996, 100), 6)
    return grid.reshape(-1, 3), areas(grid)


def p95(found, places, area) -> float:
    """How far 95 % of a skin's area lies from a surface at most [mm]."""
    off = np.abs(signed_distances(found, places))
    order = np.argsort(off)
    return float(off[order][np.searchsorted(np.cumsum(area[order]) / area.sum(), 0.95)])
