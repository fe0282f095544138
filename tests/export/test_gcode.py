"""G-code text: every word is plain RS-274, and a reader of its own finds the moves that were meant."""

import re
from itertools import pairwise
from math import hypot

import pytest

from bodygen.export.gcode import gcode, write_gcode
from bodygen.findings import Finding
from bodygen.plane.polygon import filleted
from bodygen.plane.shapes import Circle
from bodygen.shop.mill.cutters import cutter_named, default_machine, feeds_of, material_named
from bodygen.shop.mill.job import Job, Machining, Move, Stock
from bodygen.shop.mill.profile import profile_job

PLATE = filleted([(0, -9), (30, -14), (38, -8), (38, 8), (30, 14), (0, 9)], [1, 6, 4, 4, 6, 1])
SHEET = Stock(120.0, 80.0, 6.0, "plywood")
KNOWN = {"G0", "G1", "G2", "G3", "G4", "G17", "G21", "G90", "G94", "M3", "M5", "M30"}


def plate_job():
    return profile_job("plate", [PLATE, Circle((22.0, 0.0), 3.0)], SHEET, cutter_named("flat_3"))


def code_lines(text):
    return [line for line in text.splitlines() if line and not line.startswith("(")]


def read(text):
    """Follow the program: (code, x, y, z, i, j, feed) of every move."""
    x = y = z = feed = None
    for line in code_lines(text):
        words = dict(re.findall(r"([XYZIJF])(-?[\d.]+)", line))
        code = line.split()[0]
        if code in {"G0", "G1", "G2", "G3"}:
            x, y, z, feed = (float(words.get(k, old)) if words.get(k, old) is not None else None
                             for k, old in zip("XYZF", (x, y, z, feed), strict=True))  # fmt: skip
            yield code, x, y, z, float(words.get("I", 0)), float(words.get("J", 0)), feed


def test_only_plain_words_are_used_and_the_set_up_comes_first():
    lines = code_lines(gcode(plate_job()))
    words = {word for line in lines for word in re.findall(r"[GM]\d+", line)}
    assert words <= KNOWN
    assert lines[:5] == ["G17 G21 G90 G94", "T1", "G0 Z5", "S16000 M3", "G4 P4"]
    assert lines[-4:] == ["G0 Z5", "G0 X0 Y0", "M5", "M30"]


def test_a_reader_finds_the_moves_that_were_meant():
    job = plate_job()
    found = list(read(gcode(job)))[1:]  # the first lift is the writer's
    meant = [job.moves[0], *(m for a, m in pairwise(job.moves) if m.end != a.end)]
    assert len(found) == len(meant)
    for (code, x, y, z, *_, feed), move in zip(found, meant, strict=True):
        assert (x, y, z) == pytest.approx(move.end, abs=6e-5)
        assert (code == "G0") == (move.kind == "rapid")
        if move.kind != "rapid":
            assert feed == pytest.approx(move.feed, abs=0.5)


def test_both_ends_of_every_arc_lie_on_its_circle():
    x0 = y0 = 0.0
    arcs = 0
    for code, x, y, _, i, j, _ in read(gcode(plate_job())):
        if code in {"G2", "G3"}:
            arcs += 1
            assert hypot(i, j) == pytest.approx(hypot(x - x0 - i, y - y0 - j), abs=3e-4)
            assert (x, y) != (x0, y0)  # which would be a whole turn
        x0, y0 = x, y
    assert arcs > 10


def test_the_stock_and_the_doubts_are_written_at_the_head():
    text = gcode(plate_job(), "bodygen 0.1.0, recipe 12345678")
    assert text.count("bodygen") == 1
    assert "(plunge 427 mm/min" in text  # 0.35 x 16000 / min x 2 flutes x 0.012 x 3.175 mm
    assert "(stock thickness 6 mm)" in text
    assert "recipe 12345678)" in text
    assert "(offset 1.5875 mm once, outward round parts, inward in holes)" in text
    assert "changes of speed not counted" in text


def test_comments_are_ascii_without_inner_brackets_and_short():
    feeds, _ = feeds_of(cutter_named("flat_3"), material_named("wood"), default_machine())
    moves = (Move("rapid", (0.0, 0.0, 5.0)), Move("line", (0.0, 0.0, 0.0), 100.0))
    doubt = Finding("chip-load", "warning", "a (b)", "5° " * 80)
    text = gcode(Job("n (1)\n2", Machining(SHEET, cutter_named("flat_3"), feeds), moves, "p", "u", (), (doubt,)))
    for line in text.splitlines():
        assert line.isascii()
        assert len(line) <= 120
        assert line.count("(") == line.count(")") <= 1


def test_a_tiny_arc_is_a_line_and_a_long_way_round_stays_an_arc():
    feeds, _ = feeds_of(cutter_named("flat_3"), material_named("wood"), default_machine())
    moves = (
        Move("rapid", (10.0, 0.0, 5.0)),
        Move("ccw", (9.9999995, 0.001, 5.0), 500.0, (0.0, 0.0)),
        Move("cw", (10.0, 0.0, 5.0), 500.0, (0.0, 0.0)),
        Move("ccw", (9.99, 0.44710178, 5.0), 500.0, (0.0, 0.0)),
        Move("ccw", (10.0, 0.0, 5.0), 500.0, (0.0, 0.0)),
    )
    codes = [row[0] for row in read(gcode(Job("j", Machining(SHEET, cutter_named("flat_3"), feeds), moves, "", "")))]
    assert codes == ["G0", "G0", "G1", "G1", "G3", "G3"]


def test_the_same_job_gives_the_same_bytes(tmp_path):
    write_gcode(plate_job(), tmp_path / "a.nc")
    write_gcode(plate_job(), tmp_path / "b.nc")
    assert (tmp_path / "a.nc").read_bytes() == (tmp_path / "b.nc").read_bytes()
    assert b"\r" not in (tmp_path / "a.nc").read_bytes()
