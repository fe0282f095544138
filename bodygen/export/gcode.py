"""G-code: a router job as plain RS-274 words, one program a cutter.

Words used: G0 G1 G2 G3 (I J), G4 (P in seconds), G17 G21 G90 G94, M3 M5 M30, T S F; comments in parentheses, ASCII.
No tool change, no canned cycle, no offset, no arc radius: small controllers differ there. Z0 is the stock's top, X0 Y0
its lower left corner.

References
----------
NIST RS274NGC Interpreter, version 3 (NISTIR 6556, 2000), section 3 (from memory).
"""

from collections.abc import Iterator
from math import hypot
from pathlib import Path

from bodygen.shop.mill.job import Job, Move
from bodygen.tables import load
from bodygen.version import VERSION

DIGITS = 4
"""A tenth of a micrometre: arcs end on their circles to far less than any controller asks."""
FLAT_MM = 0.0005
"""An arc that bulges less than this is written as a line."""
LINE = 90


def write_gcode(job: Job, path: Path, about: str = "") -> None:
    """Write one program; the same job gives the same bytes.

    ``about`` names bodygen and what it was made from, never when.
    """
    path.write_text(gcode(job, about), encoding="ascii", newline="\n")


def gcode(job: Job, about: str = "") -> str:
    """The program as text."""
    stock, feeds, titles = job.stock, job.machining.feeds, load("cautions")["caution"]
    head = [
        f"{job.name}: {job.purpose}",
        about or f"bodygen {VERSION}",
        f"stock thickness {stock.thickness:g} mm",
        f"stock {stock.length:g} x {stock.width:g} mm, {stock.material}; X0 Y0 lower left corner, Z0 stock top",
        f"T{job.cutter.number}: {job.cutter.name}, {job.cutter.diameter:g} mm, reach {job.cutter.reach:g} mm",
        f"S{feeds.speed:g} 1/min, F{feeds.feed:.0f} mm/min, chip {feeds.chip_load:.3f} mm, bite {feeds.bite:.2f} mm",
        f"plunge {feeds.plunge:.0f} mm/min: nothing goes down in the stock faster, aslant neither",
        *job.notes,
        f"use: {job.use}",
        f"about {job.minutes:.1f} min, changes of speed not counted; lowest Z {job.lowest:.3f}",
        *(f"{finding.severity}: {finding.where}: {finding.remedy}" for finding in job.findings),
        *(f"caution: {titles[key]['title']}: see index.html" for key in job.cautions),
    ]
    lines = [text for line in head for text in _comments(line)]
    lines += ["G17 G21 G90 G94", f"T{job.cutter.number}", f"G0 Z{_number(job.moves[0].end[2])}"]
    wait = job.machining.machine.wait
    lines += [f"S{feeds.speed:g} M3", f"(waits {wait:g} s for the spindle)", f"G4 P{wait:g}", *_moves(job)]
    lines += ["M5", "M30", ""]
    return "\n".join(lines)


def _moves(job: Job) -> Iterator[str]:
    """Each move as its word and the axes that change; the feed where it changes."""
    x, y, z = "", "", _number(job.moves[0].end[2])
    here: tuple[float, float] = (0.0, 0.0)
    feed = ""
    for number, move in enumerate(job.moves):
        now = [_number(value) for value in move.end]
        words = [f"{axis}{new}" for axis, new, old in zip("XYZ", now, (x, y, z), strict=True) if new != old]
        if not words:
            continue
        code = "G0" if move.kind == "rapid" else "G1"
        if move.kind in {"cw", "ccw"} and number and [x, y] != now[:2] and _bulges(here, move):
            code = "G2" if move.kind == "cw" else "G3"
            words = [f"X{now[0]}", f"Y{now[1]}", *(f"Z{now[2]}" for _ in range(now[2] != z))]
            words += [f"I{_number(move.centre[0] - float(x))}", f"J{_number(move.centre[1] - float(y))}"]
        if move.kind != "rapid" and f"{move.feed:.0f}" != feed:
            feed = f"{move.feed:.0f}"
            words.append(f"F{feed}")
        yield f"{code} {' '.join(words)}"
        x, y, z = now
        here = move.end[0], move.end[1]


def _bulges(start: tuple[float, float], move: Move) -> bool:
    """Whether an arc leaves its chord: a short one on a great circle may as well be a line."""
    (x0, y0), (x1, y1, _), (cx, cy) = start, move.end, move.centre
    radius, chord = hypot(x0 - cx, y0 - cy), hypot(x1 - x0, y1 - y0)
    turn = (x0 - cx) * (y1 - cy) - (y0 - cy) * (x1 - cx)  # > 0: the short way is counter-clockwise
    short_way = (turn > 0) == (move.kind == "ccw")
    return not short_way or chord * chord / (8 * radius) > FLAT_MM


def _number(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _comments(line: str) -> Iterator[str]:
    """A line as comments: ASCII, no parentheses within, broken between words."""
    plain = line.replace("(", "[").replace(")", "]").replace("\n", " ").encode("ascii", "replace").decode("ascii")
    text = ""
    for word in plain.split():
        if text and len(text) + 1 + len(word) > LINE:
            yield f"({text})"
            text = word
        else:
            text = f"{text} {word}".strip()
    yield f"({text})"
