"""The template measured off its PDF by two readers; the wire that the block's pins give, after it has sprung back."""

import ctypes
from math import atan2, degrees, hypot, pi
from pathlib import Path

import manifold3d
import numpy as np
import pdfplumber
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

import bodygen
from bodygen.export.pdf import write_pdf
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.wire.forms import hanger
from bodygen.mesh.cut import to_manifold
from bodygen.pipeline import assess
from bodygen.plane.tiles import paper_named
from bodygen.shop.wire.block import bending_block, station, stations_of
from bodygen.shop.wire.spring import measured_curvature, spring_curvature
from bodygen.shop.wire.template import wire_template
from bodygen.tables import load

PARAMS = Path(__file__).parents[3] / "params"
MM = 25.4 / 72
MIDDLE_MM = 0.25  # width of the middle line; the scale bars at the foot have it, too


def wires_of(demo):
    a = assess(bodygen.read_recipe(PARAMS / f"{demo}.toml"))
    return bent_wires(a.recipe, a.shaped.tools, a.shaped.caster)


WIRES = {demo: wires_of(demo) for demo in ("fell-reed-110", "reedbed-roach-65", "beck-dace-80")}


def curve_length(steps):
    """Length of lines and cubic curves, each by 200 chords (1e-5 of an arc's length) [page units]."""
    total, here = 0.0, None
    for name, *points in steps:
        if name == "c":
            t = np.linspace(0, 1, 201)[:, None]
            a, b, c, d = (np.array(p) for p in (here, *points))
            on = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
            total += float(np.linalg.norm(np.diff(on, axis=0), axis=1).sum())
        elif name == "l":
            total += hypot(points[-1][0] - here[0], points[-1][1] - here[1])
        here = points[-1]
    return total


def by_plumber(path):
    """Lengths of the middle line [mm], by pdfminer's reading of the page."""
    with pdfplumber.open(path) as pdf:
        drawn = [item for page in pdf.pages for item in (*page.curves, *page.lines)]
        return sum(
            curve_length([(name, *points) for name, *points in item["path"] if points]) * MM
            for item in drawn
            if item["linewidth"] * MM == pytest.approx(MIDDLE_MM, abs=0.01)
            and item["bottom"] < pdf.pages[0].height - 80
        )


def by_pdfium(path):
    """The same, by the drawing library of a browser, which shares no code with the other."""
    total = 0.0
    document = pypdfium2.PdfDocument(path)
    for page in document:
        for item in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
            width = ctypes.c_float()
            pdfium.FPDFPageObj_GetStrokeWidth(item, width)
            if width.value * MM != pytest.approx(MIDDLE_MM, abs=0.01) or item.get_bounds()[1] < 80:
                continue
            total += curve_length(_pdfium_steps(item)) * MM
    return total


def _pdfium_steps(item):
    bezier = []
    for n in range(pdfium.FPDFPath_CountSegments(item)):
        segment = pdfium.FPDFPath_GetPathSegment(item, n)
        x, y = ctypes.c_float(), ctypes.c_float()
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        kind, at = pdfium.FPDFPathSegment_GetType(segment), (x.value, y.value)
        if kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            bezier.append(at)
            if len(bezier) == 3:
                yield "c", *bezier
                bezier = []
        else:
            yield "m" if kind == pdfium.FPDF_SEGMENT_MOVETO else "l", at


@pytest.mark.parametrize("demo", WIRES)
@pytest.mark.parametrize("read", [by_plumber, by_pdfium])
def test_the_bent_length_is_on_the_paper(demo, read, tmp_path):
    """The middle line, by closed form: straights, and arcs by their radius; a cubic is within 3e-4 of a quarter circle,
    a page's figures are in thousandths of a point."""
    wires = WIRES[demo]
    file = tmp_path / "wire.pdf"
    write_pdf([wire_template("bait", "mm", wires)], file, paper_named("a4"), "bait", "test")
    closed = sum(
        getattr(s, "length", 0) or getattr(s, "axial", 0) or abs(s.angle) * (s.inside + w.form.wire / 2)
        for w in wires
        for s in w.form.segments
    )
    assert read(file) == pytest.approx(closed, abs=0.05)


def bowed(springs, held, loop=0.0):
    """How far the held wire's chord turns, summed along it: the moment falls to nothing at the stop, or far beyond it.

    Of a loop a quarter bows, and what its middle moves by along the wire turns it about the pin.
    """
    s = np.linspace(0, held, 4001)
    if loop:
        turn = np.linspace(0, pi / 2, 4001)
        moved = np.trapezoid(springs * np.cos(turn) * loop * np.cos(turn) * loop, turn)
        return moved / held * np.array([1.0, 1.5])
    slopes = [np.concatenate([[0], np.cumsum(springs * (1 - share * s / held)[1:] * np.diff(s))]) for share in (1, 0)]
    return np.array([np.trapezoid(slope, s) / held for slope in slopes])


def sprung(one, wanted, trial, pushed):
    """How far the released bend leaves the drawn one, from the places of the pins alone [mm].

    The wire is laid round the forming pin until it touches the stop, bowed between ridge and stop as far as it is when
    ``pushed`` at the stop (0) or far beyond it (1); its curvature then falls by what springs back.
    """
    touch = (one.wire + load("wire")["block"]["stop_pin_mm"]) / 2
    radius = hypot(*one.pin_at)
    assert radius == pytest.approx((one.made.pin + one.wire) / 2)
    springs = spring_curvature(one.wire) if trial is None else measured_curvature(trial, one.wire)
    sx, sy = one.stop_at[0], one.stop_at[1] - radius
    far = hypot(sx, sy)
    if one.loop:  # a circle about a point radius + loop away from the pin, touched from its left
        turn = atan2(sy, sx) - atan2(one.loop + touch, radius + one.loop)
        angle, held = (turn + pi / 2) % (2 * pi), radius + one.loop
    else:  # a straight line that leaves the circle, whose left edge the stop touches
        held = (far**2 - (radius - touch) ** 2) ** 0.5
        angle = (atan2(sy, sx) - atan2(-(radius - touch), held)) % (2 * pi)
    bows = [bowed(springs, load("wire")["block"]["fence_gap_mm"]), bowed(springs, held, one.loop)]
    bent = radius * (angle - np.sum([least + pushed * (most - least) for least, most in bows]))
    stays = 1 / (1 / radius - springs)
    share = np.linspace(0, 1, 60)
    got = stays * np.stack([np.sin(share * bent / stays), 1 - np.cos(share * bent / stays)])
    big = wanted.inside + one.wire / 2
    want = big * np.stack([np.sin(share * abs(wanted.angle)), 1 - np.cos(share * abs(wanted.angle))])
    return float(np.hypot(*(got - want)).max())


@pytest.mark.parametrize("demo", WIRES)
def test_the_pins_hold_each_bend_within_a_tenth_of_a_millimetre(demo):
    """Wherever it is pushed; what a bend more or less by the pins' place leaves is told beside it."""
    wires = WIRES[demo]
    stations = stations_of(wires)
    bends = [(bend, wire.trial) for wire in wires for bend in wire.form.bends]
    for bend, trial in bends:
        near = [
            max(sprung(one, bend, trial, pushed) for pushed in (0.0, 0.5, 1.0))
            for one in stations
            if abs(one.made.released.angle) == pytest.approx(abs(bend.angle), abs=1e-6)
            and abs(one.made.released.inside - bend.inside) < 0.1
        ]
        assert min(near) <= 0.1
    assert len(stations) < len(bends)


@pytest.mark.parametrize("loop", [3.0, 4.0, 6.0, 8.0])
@pytest.mark.parametrize("wire", [0.7366, 1.0414, 1.2954])
def test_a_wire_can_be_laid_past_its_stop_before_it_is_bent(wire, loop):
    """No stop stands where the straight wire lies, nor in the other pin's hole; a loop that goes too far has none.

    1.5 mm of plate are left of 2, as the bow moves the stop; 20 mm out a bow bends a wire by as much as 0.15 mm.
    """
    stop = load("wire")["block"]["stop_pin_mm"]
    bend = hanger("line_tie", wire, loop, 1.5 * wire, 8.0).bends[1]
    one = station("1", bend, wire)
    if one.stop_at is None:
        assert degrees(one.made.angle) > 320
        assert loop / wire > 6
        return
    assert abs(one.stop_at[1]) >= (wire + stop) / 2
    apart = hypot(one.stop_at[0] - one.pin_at[0], one.stop_at[1] - one.pin_at[1])
    assert apart - (one.made.pin + stop) / 2 >= 1.5
    assert max(sprung(one, bend, None, pushed) for pushed in (0.0, 0.5, 1.0)) <= 0.15


@pytest.mark.parametrize("demo", WIRES)
def test_the_block_is_one_sound_piece_with_a_hole_for_every_pin(demo):
    """Cut level 5 mm up: as many round holes as pins, each as wide as its pin and 0.1 mm."""
    wires = WIRES[demo]
    solid = to_manifold(bending_block(wires).mesh)
    assert solid.status() == manifold3d.Error.NoError
    assert len(solid.decompose()) == 1
    _, *holes = sorted(solid.slice(5.0).to_polygons(), key=lambda p: -np.ptp(p, axis=0).prod())
    stop = load("wire")["block"]["stop_pin_mm"]
    pins = sorted(pin for one in stations_of(wires) for pin in (one.made.pin, stop))
    assert sorted(np.ptp(hole, axis=0).max() for hole in holes) == pytest.approx([pin + 0.1 for pin in pins], abs=0.02)


def test_a_loop_is_bent_farther_than_it_stays_and_says_by_how_much_or_less():
    """The roach's by half of what is computed; the reed's, of which one was bent and measured, as that did."""
    part = bending_block(WIRES["reedbed-roach-65"])
    (loop, *_) = stations_of(WIRES["reedbed-roach-65"])
    assert degrees(loop.made.angle) > degrees(loop.made.released.angle)
    assert f"give or take {degrees(loop.made.opens) / 2:.1f}), the stop {degrees(loop.bows):.1f} farther" in part.use
    assert "(as your trial bend did)" in bending_block(WIRES["fell-reed-110"]).use
    assert "oggles" in part.use
    assert "wire_ends" in part.cautions
