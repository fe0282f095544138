"""Charts as SVG inside a page: coloured by its style, so that they follow light, dark and paper.

Knows numbers and labels. One unit of a drawing is about a pixel; classes are styled in ``style.py``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from bodygen.report.pictures.chart import round_steps
from bodygen.study.report.results import Floats
from bodygen.study.said.named import number_text

WIDE, TALL = 340.0, 170.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 12.0, 10.0, 40.0
LETTERS = (26.0, 13.0)
"""Room of a row's number; of offers nearer than that only the first is named, the table names all."""
MOST_DOTS = 1500
"""Designs that a chart shows as dots; of more every k-th."""


@dataclass(frozen=True, slots=True)
class Scale:
    """From values to places along one side of a drawing."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Place of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def histogram(
    label: str, unit: str, edges: Floats, counts: Sequence[int], limits: Sequence[float], p: Sequence[float]
) -> str:
    """How often a figure falls where; limits as heavy lines, p10, p50 and p90 as ticks below the axis."""
    ends = [float(edges[0]), float(edges[-1]), *limits]
    room = 0.03 * (max(ends) - min(ends))
    x = Scale(min(ends) - room, max(ends) + room, LEFT, WIDE - RIGHT)
    y = Scale(0.0, float(max(counts)), TALL - BOTTOM, TOP)
    parts = [
        f'<rect class="bar" x="{_n(x.at(a))}" y="{_n(y.at(c))}" width="{_n(max(x.at(b) - x.at(a) - 0.8, 0.4))}"'
        f' height="{_n(y.at(0) - y.at(c))}"/>'
        for a, b, c in zip(edges[:-1], edges[1:], counts, strict=True)
        if c
    ]
    parts += _axes(x, y, f"{label} [{unit}]" if unit else label, "designs", whole=True)
    parts += [f'<path class="limit" d="M{_n(x.at(v))} {_n(TOP)}V{_n(TALL - BOTTOM)}"/>' for v in limits]
    parts += [f'<path class="tick" d="M{_n(x.at(v))} {_n(TALL - BOTTOM)}v-7"/>' for v in p]
    said = (
        f"{label}: {sum(counts)} designs from {number_text(float(edges[0]))} to {number_text(float(edges[-1]))} {unit}"
    )
    return _svg(parts, TALL, said)


def intervals(rows: Sequence[tuple[str, float | None, float, float]], what: str) -> str:
    """A line for each name from low to high of its interval, 0 to 1, and a bar up to its value (None: no bar)."""
    step, left = 24.0, 8.0 + 6.6 * max(len(name) for name, *_ in rows)
    left = min(left, 0.5 * WIDE)
    tall = 6 + step * len(rows) + BOTTOM
    x = Scale(0.0, 1.0, left, WIDE - RIGHT - 8)
    parts = []
    for i, (name, value, low, high) in enumerate(rows):
        middle = 6 + step * (i + 0.5)
        parts.append(f'<text class="end" x="{_n(left - 5)}" y="{_n(middle + 4)}">{escape(name)}</text>')
        if value is not None:
            parts.append(
                f'<rect class="bar" x="{_n(left)}" y="{_n(middle - 7)}" width="{_n(x.at(value) - left)}" height="14"/>'
            )
            ends = f"M{_n(x.at(low))} {_n(middle)}H{_n(x.at(high))}M{_n(x.at(low))} {_n(middle - 4)}v8"
            parts.append(f'<path class="line" d="{ends}M{_n(x.at(high))} {_n(middle - 4)}v8"/>')
        else:
            parts.append(f'<text class="faint" x="{_n(left + 4)}" y="{_n(middle + 4)}">not told</text>')
    foot = 6 + step * len(rows)
    parts.append(f'<path class="axis" d="M{_n(left)} 4V{_n(foot)}H{_n(WIDE - RIGHT - 8)}"/>')
    parts += [
        f'<text class="mid" x="{_n(x.at(share))}" y="{_n(foot + 14)}">{100 * share:.0f}</text>'
        for share in (0.0, 0.25, 0.5, 0.75, 1.0)
    ]
    parts.append(f'<text class="mid" x="{_n((left + WIDE - RIGHT) / 2)}" y="{_n(foot + 31)}">{escape(what)}</text>')
    return _svg(parts, tall, f"{what}: " + ", ".join(name for name, *_ in rows))


def scatter(x_label: str, y_label: str, dots: Floats, front: Floats, offers: Sequence[tuple[str, float, float]]) -> str:
    """Designs (n, 2) as dots, those of the front (m, 2) joined in order, the offered ones ringed with their numbers."""
    step = max(1, -(-len(dots) // MOST_DOTS))
    dots = dots[::step]
    every = np.concatenate([dots, front, np.array([(a, b) for _, a, b in offers]).reshape(-1, 2)])
    # a few far-off designs would press all others into a corner
    low, high = np.percentile(every, 1, axis=0), np.percentile(every, 99, axis=0)
    wanted = np.concatenate([front, np.array([(a, b) for _, a, b in offers]).reshape(-1, 2)])
    if len(wanted):
        low, high = np.minimum(low, wanted.min(axis=0)), np.maximum(high, wanted.max(axis=0))
    room = 0.06 * np.where(high > low, high - low, 1.0)
    tall = 250.0
    x = Scale(float(low[0] - room[0]), float(high[0] + room[0]), LEFT + 6, WIDE - RIGHT)
    y = Scale(float(low[1] - room[1]), float(high[1] + room[1]), tall - BOTTOM, TOP)
    inside = np.all((dots >= low - room) & (dots <= high + room), axis=1)
    parts = [f'<circle class="dot" cx="{_n(x.at(a))}" cy="{_n(y.at(b))}" r="1.6"/>' for a, b in dots[inside]]
    if len(front) > 1:
        path = "L".join(f"{_n(x.at(a))} {_n(y.at(b))}" for a, b in front)
        parts.append(f'<path class="front" d="M{path}"/>')
    lettered: list[tuple[float, float]] = []
    for name, a, b in offers:
        at = x.at(a), y.at(b)
        parts.append(f'<circle class="offer" cx="{_n(at[0])}" cy="{_n(at[1])}" r="4"/>')
        if all(abs(at[0] - u) > LETTERS[0] or abs(at[1] - v) > LETTERS[1] for u, v in lettered):
            lettered.append(at)
            end = at[0] + LETTERS[0] > WIDE
            where = (
                f'class="small{" end" if end else ""}" x="{_n(at[0] - 6 if end else at[0] + 6)}" y="{_n(at[1] + 11)}"'
            )
            parts.append(f"<text {where}>{escape(name)}</text>")
    parts += _axes(x, y, x_label, y_label)
    return _svg(parts, tall, f"{y_label} against {x_label}")


def _axes(x: Scale, y: Scale, x_label: str, y_label: str, *, whole: bool = False) -> list[str]:
    parts = [f'<path class="axis" d="M{_n(x.start)} {_n(y.end)}V{_n(y.start)}H{_n(x.end)}"/>']
    for value in round_steps(x.low, x.high, 6):
        parts.append(f'<path class="axis" d="M{_n(x.at(value))} {_n(y.start)}v3"/>')
        parts.append(f'<text class="mid" x="{_n(x.at(value))}" y="{_n(y.start + 15)}">{value:g}</text>')
    for value in round_steps(y.low, y.high, 4):
        if not whole or value == int(value):
            parts.append(f'<path class="axis" d="M{_n(x.start)} {_n(y.at(value))}h-3"/>')
            parts.append(f'<text class="end" x="{_n(x.start - 5)}" y="{_n(y.at(value) + 4)}">{value:g}</text>')
    middle = (y.start + y.end) / 2
    parts.append(f'<text class="mid" x="{_n((x.start + x.end) / 2)}" y="{_n(y.start + 32)}">{escape(x_label)}</text>')
    turned = f'transform="rotate(-90 11 {_n(middle)})"'
    parts.append(f'<text class="mid" x="11" y="{_n(middle)}" {turned}>{escape(y_label)}</text>')
    return parts


def _svg(parts: Sequence[str], tall: float, says: str) -> str:
    head = f'<svg viewBox="0 0 {_n(WIDE)} {_n(tall)}" role="img" aria-label="{escape(" ".join(says.split()))}">'
    return "\n".join([head, *parts, "</svg>"])


def _n(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
