"""A reader of router programs for the tests: what the machine does, from the file's text alone."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, ceil, cos, dist, hypot, pi, sin

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Step:
    """One move: its word, start and end, length travelled [mm], feed [mm/min]; arcs with their centre."""

    code: str
    start: Point3
    end: Point3
    length: float
    feed: float
    centre: tuple[float, float] | None = None

    def points(self, spacing: float) -> list[Point3]:
        """Places along it, no farther apart than this [mm]."""
        (x0, y0, z0), (x1, y1, z1) = self.start, self.end
        shares = [i / count for count in [max(1, ceil(self.length / spacing))] for i in range(count + 1)]
        if self.centre is None:
            return [(x0 + s * (x1 - x0), y0 + s * (y1 - y0), z0 + s * (z1 - z0)) for s in shares]
        (cx, cy), radius = self.centre, dist(self.start[:2], self.centre)
        first, turn = atan2(y0 - cy, x0 - cx), _turn(self.code, self.start, self.end, self.centre)
        return [
            (cx + radius * cos(first + s * turn), cy + radius * sin(first + s * turn), z0 + s * (z1 - z0))
            for s in shares
        ]


def _turn(code: str, start: Point3, end: Point3, centre: tuple[float, float]) -> float:
    (x0, y0, _), (x1, y1, _), (cx, cy) = start, end, centre
    turn = (atan2(y1 - cy, x1 - cx) - atan2(y0 - cy, x0 - cx)) % (2 * pi)
    return turn if code == "G3" else turn - 2 * pi


def steps_of(text: str) -> list[Step]:
    """Every move of a program after its place is known in all three axes."""
    return list(_steps(text))


def _steps(text: str) -> Iterator[Step]:
    place: dict[str, float] = {}
    feed = 0.0
    for line in text.splitlines():
        words = dict(re.findall(r"([A-Z])(-?[\d.]+)", re.sub(r"\(.*?\)", "", line)))
        code = line.split()[0] if line else ""
        feed = float(words.get("F", feed))
        if code not in {"G0", "G1", "G2", "G3"}:
            continue
        before = dict(place)
        place |= {axis: float(words[axis]) for axis in "XYZ" if axis in words}
        if len(before) < 3:
            continue
        start, end = ((at["X"], at["Y"], at["Z"]) for at in (before, place))
        centre, flat = None, dist(start[:2], end[:2])
        if code in {"G2", "G3"}:
            centre = start[0] + float(words.get("I", 0)), start[1] + float(words.get("J", 0))
            flat = dist(start[:2], centre) * abs(_turn(code, start, end, centre))
        yield Step(code, start, end, hypot(flat, end[2] - start[2]), feed, centre)


def fastest_descent(text: str) -> float:
    """Greatest vertical speed of a move at feed that goes down and ends below the stock's top [mm/min]."""
    falls = [(step, step.start[2] - step.end[2]) for step in steps_of(text) if step.code != "G0" and step.end[2] < 0]
    return max(step.feed * fall / step.length for step, fall in falls if fall > 0)


def lowest_along(text: str, cell: float) -> dict[tuple[int, int], float]:
    """Lowest place of the cutter's tip in each square of this size that the path crosses below the stock's top [mm]."""
    lowest: dict[tuple[int, int], float] = {}
    for step in steps_of(text):
        if step.code != "G0" and min(step.start[2], step.end[2]) < 0:
            for x, y, z in step.points(cell / 3):
                key = round(x / cell), round(y / cell)
                lowest[key] = min(z, lowest.get(key, 0.0))
    return lowest


def stated(text: str, pattern: str) -> float:
    """The number that a comment of the program gives: the pattern's first group."""
    found = re.search(pattern, text)
    assert found, f"the program does not state {pattern}"
    return float(found[1])
