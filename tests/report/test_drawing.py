"""The three-view drawing, read back from its SVG and measured against closed forms of the bodies drawn."""

import re
from itertools import combinations
from pathlib import Path
from random import Random

import numpy as np
import pytest
from amount import MORE
from lettering import label_boxes
from lxml import etree

from bodygen.export.svg import page_svg
from bodygen.form.cuts import tools_of
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.fairing.shape import body_of
from bodygen.form.ray_caster import ray_caster_of
from bodygen.pipeline import assess
from bodygen.plane import page
from bodygen.recipe.model import Bore, Counterbore, Lip, Recipe, Source, Stations, TieHole, WireSlot, read_from
from bodygen.recipe.read import read_recipe
from bodygen.report.pictures import dimension
from bodygen.report.pictures.drawing import MARGIN, PAGE, three_views
from bodygen.shop.lip.plate import lip_plate

SVG = "{http://www.w3.org/2000/svg}"
PARAMS = Path(__file__).parents[2] / "params"
SIXTY_FOURTH = 25.4 / 64
CAUTIONS = ("Lead: keep it out of mouths.", "Dust and blades: local codes, data sheets and the tools' manuals rule.")


def ellipsoid(length, depth, thickness, squareness=2.0, lift=0.0):
    """Offsets of a spindle whose outlines are ellipses; `lift` bends the profile upwards in the middle."""
    share = (1 - np.cos(np.linspace(0, np.pi, 25))) / 2
    radius = np.sqrt(np.maximum(0.0, 1 - (2 * share - 1) ** 2))
    rows = [
        (length * u, depth / 2 * r + lift * r, -depth / 2 * r + lift * r, thickness / 2 * r, squareness)
        for u, r in zip(share, radius, strict=True)
    ]
    return Stations("drawn.csv", tuple(tuple(map(float, row)) for row in rows))


def drawn(recipe):
    (sheet,) = all_drawn(recipe)
    return sheet


def all_drawn(recipe):
    body = body_of(recipe)
    tools = tools_of(recipe, ray_caster_of(body))
    plate = None
    if recipe.lip:
        wide = 2 * float(body.half_width_at(np.array([recipe.lip.x or 0.0]))[0])
        plate, _ = lip_plate(recipe.lip, wide)
    return three_views(recipe, body, tools, wood="basswood, 9 % moisture", lip=plate, cautions=CAUTIONS)


def random_recipe(seed):
    """Any bait from 30 to 200 mm with up to 12 bores, invented by a seeded dice."""
    dice = Random(seed)  # noqa: S311  baits, not secrets
    length = dice.uniform(30, 200)
    depth = length * dice.uniform(0.12, 0.6)
    thickness = depth * dice.uniform(0.4, 1.2)
    shape = ellipsoid(length, depth, thickness, dice.uniform(2, 4), dice.uniform(-0.2, 0.2) * depth)
    drill = thickness * 0.15
    bores = []
    for i in range(dice.randint(0, 12)):
        entry = dice.choice(["belly", "back", "side", "nose", "tail"])
        bores.append(
            Bore(
                dice.choice(["ballast", "line tie", "eye socket on the flank", "r", "Augenhöhle größer"]),
                "any",
                entry,
                drill,
                dice.choice([None, drill, 1.5 * drill]) if entry == "side" else dice.choice([drill, 1.5 * drill]),
                x=length * dice.uniform(0.15, 0.85),
                lean=dice.choice([0.0, 0.0, 0.3, -0.2]),
                drill=dice.choice([None, "#56", "5/16"]),
                tip=dice.choice(["twist", "flat", "ball"]),
                mirror=entry == "side" and dice.random() < 0.5,
                counterbore=Counterbore(1.5 * drill, 0.4 * drill) if i % 4 == 3 else None,
            )
        )
    kerfs = ()
    if dice.random() < 0.4:
        along = dice.choice(["belly", "back"])
        kerfs = (WireSlot("harness kerf", along, 0.3 * length, 0.8 * length, 0.1 * thickness, depth=0.2 * depth),)
    lip = None
    if dice.random() < 0.6:
        size = length * dice.uniform(0.15, 0.3)
        slot_width = dice.choice([None, 0.4 * thickness])
        hole = dice.choice([None, TieHole(0.1 * size, 0.5 * size)])
        angle = np.radians(dice.uniform(15, 90))
        lip = Lip(
            "polycarbonate",
            0.08 * thickness,
            angle,
            0.15 * length,
            size,
            1.2 * size,
            x=0.15 * length,
            slot_width=slot_width,
            tie_hole=hole,
        )
    units = dice.choice(["mm", "in"])
    name = dice.choice(["Tarn roach", "A perch with a rather long name & <signs>, as makers like them to be"])
    recipe = Recipe(name, units, shape, bores=tuple(bores), lip=lip, wire_slots=kerfs)
    return read_from(recipe, Source("drawn.toml", f"{seed:064x}"))


def parts(text, part):
    """Points of every path of one part."""
    root = etree.fromstring(text.encode())
    paths = [path.get("d") for group in root.iter(f"{SVG}g") if group.get("class") == part for path in group]
    return [np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", path), dtype=float) for path in paths]


def extent(text, part):
    points = np.concatenate(parts(text, part))
    return points.max(axis=0) - points.min(axis=0)


def scale_of(sheet):
    over, under = re.search(r"(\d+):(\d+)$", sheet.title).groups()
    return int(over) / int(under)


@pytest.mark.parametrize(
    ("length", "depth", "thickness", "units"),
    [(30, 10, 8, "in"), (69.85, 22, 16, "in"), (90, 50, 14, "mm"), (200, 26, 20, "mm")],
)
def test_outlines_and_dimension_lines_measure_as_the_body_does(length, depth, thickness, units):
    """An ellipsoid's sizes are what it was made from. Three decimals on paper, so far finer than 1/64 in."""
    sheet = drawn(Recipe("Tarn spindle", units, ellipsoid(length, depth, thickness)))
    text, scale = page_svg(sheet), scale_of(sheet)
    expected = {
        "side-outline": (length, depth),
        "plan-outline": (length, thickness),
        "end-outline": (thickness, depth),
        "length": (length, 0),
        "depth": (0, depth),
        "thickness": (0, thickness),
        "section-C": (thickness, depth),
    }
    for part, size in expected.items():
        at = scale
        if part == "section-C":
            ratio = re.search(r"sections (\d+):(\d+)<", text)
            at = int(ratio[1]) / int(ratio[2]) if ratio else scale
        assert extent(text, part) / at == pytest.approx(size, abs=SIXTY_FOURTH / 8), part


def test_every_mouth_is_dimensioned_from_the_nose_at_its_own_place():
    """Extension lines stand where the recipe puts the bores, and the figures beside them say so."""
    places = (12.5, 31.75, 60.0)
    bores = tuple(Bore(f"b{x}", "any", "belly", 3.0, 5.0, x=x) for x in places)
    sheet = drawn(Recipe("Tarn spindle", "mm", ellipsoid(80, 24, 18), bores=bores))
    text, scale = page_svg(sheet), scale_of(sheet)
    nose = np.concatenate(parts(text, "side-outline"))[:, 0].min()
    lines = sorted(float(line[0, 0]) for line in parts(text, "running-place"))
    assert (np.array(lines) - nose) / scale == pytest.approx(places, abs=0.01)
    assert {"12.50", "31.75", "60.00", "80.00", "24.00", "18.00"} <= {label for label, _ in label_boxes(sheet)}


def test_a_drawn_bore_has_the_drills_width_and_reaches_its_point():
    """A 6 mm hole 8 mm to the shoulder from a flat-bellied mouth; a 118 degree point adds 3 / tan 59 = 1.803 mm."""
    bore = Bore("ballast", "ballast", "belly", 6.0, 8.0, x=40.0)
    sheet = drawn(Recipe("Tarn spindle", "mm", ellipsoid(80, 24, 20), bores=(bore,)))
    text, scale = page_svg(sheet), scale_of(sheet)
    plan_foot = np.concatenate(parts(text, "plan-outline"))[:, 1].max()
    hull = np.concatenate([line for line in parts(text, "bore") if line[:, 1].min() > plan_foot])
    belly = np.concatenate(parts(text, "side-outline"))[:, 1].max()
    assert (hull[:, 0].max() - hull[:, 0].min()) / scale == pytest.approx(6.0, abs=0.02)
    assert (belly - hull[:, 1].min()) / scale == pytest.approx(8.0 + 3.0 / np.tan(np.radians(59)), abs=0.02)


@pytest.mark.parametrize(("stem", "turned"), [("fell-reed-110", False), ("reedbed-roach-65", True)])
def test_a_bent_wire_is_drawn_along_its_middle_line_in_side_and_plan_view(stem, turned):
    """What is drawn of one in a kerf is as long as the wire that is cut, but for bends; from above it is one line."""
    a = assess(read_recipe(PARAMS / f"{stem}.toml"))
    wires = bent_wires(a.recipe, a.shaped.tools, a.shaped.caster)
    sheet, *_ = three_views(a.recipe, a.shaped.body, a.shaped.tools, wood="wood", lip=a.shaped.plate, wires=wires)
    text, scale = page_svg(sheet), scale_of(sheet)
    side, plan = parts(text, "bent-wire")
    ring = parts(text, "side-outline")[0]
    nose = ring[:, 0].min()
    (wire,) = wires
    assert np.ptp(plan[:, 1]) < 2e-3
    assert (side[:, 0] - nose) / scale == pytest.approx(wire.line[:, 0], abs=2e-3)
    assert np.ptp(side[:, 1]) / scale == pytest.approx(np.ptp(wire.line[:, 2]), abs=2e-3)
    loops = wire.form.loop + wire.form.wire
    if turned:  # legs twisted together are drawn as their axis
        assert np.ptp(side[:, 0]) / scale == pytest.approx(loops, abs=0.02)
    else:
        drawn_long = np.linalg.norm(np.diff(side, axis=0), axis=1).sum() / scale
        turns = sum(abs(bend.angle) for bend in wire.form.bends)
        shorter = drawn_long - wire.form.cut_length  # the neutral line lies 1/3 to 1/2 of d from a bend's inside
        assert -0.05 <= shorter <= turns * wire.form.wire / 6 + 0.05
    assert "Thin short dashes: bent wire" in re.sub(r"<[^>]*>|\s+", " ", text).replace("  ", " ")


def test_the_scale_bar_is_fifty_millimetres_and_two_inches_at_the_drawings_scale():
    sheet = drawn(Recipe("Tarn spindle", "in", ellipsoid(75, 22, 18)))
    text, scale = page_svg(sheet), scale_of(sheet)
    assert extent(text, "scale-bar-50-mm")[0] / scale == pytest.approx(50.0, abs=0.01)
    assert extent(text, "scale-bar-2-in")[0] / scale == pytest.approx(50.8, abs=0.01)


def test_the_lip_leans_at_the_recipes_angle_and_shows_its_length():
    """The plate seen edge-on from the side: its tip lies length * (cos, sin) of the angle from the slot's mouth."""
    lip = Lip("polycarbonate", 1.5, np.radians(40), 8.0, 18.0, 16.0, x=12.0)
    sheet = drawn(Recipe("Tarn diver", "mm", ellipsoid(80, 24, 18), lip=lip))
    text, scale = page_svg(sheet), scale_of(sheet)
    foot, side = (np.concatenate(parts(text, part)) for part in ("plan-outline", "side-outline"))
    edge = next(
        line
        for line in parts(text, "lip")
        if line[:, 1].min() > foot[:, 1].max() and line[:, 0].max() > side[:, 0].min()
    )
    low, far = edge[np.argmax(edge[:, 1])], edge[np.argmin(edge[:, 0])]
    tip = (low + far) / 2  # middle of the plate's end
    belly = 12.0 * np.sqrt(1 - (2 * 12 / 80 - 1) ** 2)
    middle = (side[:, 1].max() + side[:, 1].min()) / 2
    mouth = np.array([side[:, 0].min() + 12.0 * scale, middle + belly * scale])
    reach = (tip - mouth) / scale
    assert np.hypot(*reach) == pytest.approx(18.0, abs=0.05)
    assert np.degrees(np.arctan2(reach[1], -reach[0])) == pytest.approx(40.0, abs=0.2)
    assert "40.0°" in {label for label, _ in label_boxes(sheet)}


@pytest.mark.parametrize("start", range(0, 60 if MORE else 10, 10))
def test_nothing_overlaps_and_nothing_leaves_the_frame(start):
    """Sixty baits of every size: lettering keeps apart, all marks stay inside the frame, the XML is well formed."""
    for seed in range(start, start + 10):
        sheet = drawn(random_recipe(seed))
        for (a, box_a), (b, box_b) in combinations(label_boxes(sheet), 2):
            apart = box_a[2] <= box_b[0] or box_b[2] <= box_a[0] or box_a[3] <= box_b[1] or box_b[3] <= box_a[1]
            assert apart, (seed, a, box_a, b, box_b)
        x0, y0, x1, y1 = page.bounds(sheet.marks)
        inside = x0 >= MARGIN and y0 >= MARGIN and x1 <= PAGE[0] - MARGIN and y1 <= PAGE[1] - MARGIN
        assert inside, (seed, (x0, y0, x1, y1))
        etree.fromstring(page_svg(sheet).encode())


def test_the_title_block_says_what_the_drawing_is():
    recipe = read_from(Recipe("Tarn & beck", "in", ellipsoid(75, 22, 18)), Source("f", "89abcdef" * 8))
    words = {label for label, _ in label_boxes(drawn(recipe))}
    assert {"Tarn & beck", "basswood, 9 % moisture", "inches to 1/64 (decimal)", CAUTIONS[0]} <= words
    assert "Check the printed scale bar before use." in words
    assert any(word.endswith("recipe 89abcdef") for word in words)
    assert any(word.startswith("Nose at left.") for word in words)


def test_the_table_says_what_the_drill_does():
    bores = (
        Bore("ballast", "ballast", "belly", 7.9375, 12.7, x=30.0, drill="5/16", lean=np.radians(10)),
        Bore("eye socket", "eye", "side", 5.0, 1.0, x=10.0, height=2.0, tip="flat", mirror=True),
        Bore("pivot", "through", "side", 2.0, None, x=60.0),
    )
    sheet = drawn(Recipe("Tarn spindle", "in", ellipsoid(75, 26, 18), bores=bores))
    words = {label for label, _ in label_boxes(sheet)}
    assert {"drill 5/16 in", "1/2 (0.500) to the shoulder", "10.0° aft", "1-3/16 (1.181)"} <= words
    assert {
        "flat bit 5 mm",
        "3/64 (0.039) to the flat bottom",
        "both flanks, up 5/64 (0.079)",
        "right through",
        "square",
    } <= words


def test_two_drawings_of_one_recipe_are_the_same_bytes():
    assert page_svg(drawn(random_recipe(7))) == page_svg(drawn(random_recipe(7)))


def test_places_are_spread_no_further_than_needed():
    """By hand: a pair one apart that needs two moves half each way; an order is kept; a free one stays."""
    assert dimension.spread([0.0, 1.0, 9.0], [1.0, 1.0, 1.0]) == pytest.approx([-0.5, 1.5, 9.0])
    assert dimension.spread([4.0, 4.0, 4.0], [1.0, 2.0, 1.0]) == pytest.approx([1.0, 4.0, 7.0])
    assert dimension.spread([], []) == []


def test_lettering_is_cut_or_wrapped_to_its_room():
    assert page.shortened("short", 40.0, 2.5) == "short"
    cut = page.shortened("a very long name of a bait", 20.0, 2.5)
    assert cut.endswith("…")
    assert page.text_width(cut, 2.5) <= 20.0
    assert all(page.text_width(line, 2.2) <= 30.0 for line in page.wrapped("words " * 20 + "w" * 60, 30.0, 2.2))


def test_bores_that_one_page_has_no_room_for_go_on_to_the_next():
    """Forty of them: each is numbered, and led to, on one page alone; every page stays on the page."""
    bores = tuple(
        Bore(f"pin {i}", "any", "back" if i % 2 else "belly", 1.0, 1.5, x=10.0 + 4.5 * (i // 2)) for i in range(40)
    )
    sheets = all_drawn(Recipe("Many", "mm", ellipsoid(110, 20, 16), bores=bores))
    assert len(sheets) > 1
    told = [[mark.text for mark in sheet.marks if isinstance(mark, page.Label)] for sheet in sheets]
    for i in range(40):
        assert sum(f"pin {i}" in texts for texts in told) == 1
    for number, (sheet, texts) in enumerate(zip(sheets, told, strict=True), 1):
        assert any(text.endswith(f"sheet {number} of {len(sheets)}") for text in texts)
        x0, y0, x1, y1 = page.bounds(sheet.marks)
        assert min(x0, y0) >= 0
        assert x1 <= PAGE[0]
        assert y1 <= PAGE[1]
