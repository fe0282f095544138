"""The pictures of masses, read back from their strokes. All figures are made up."""

from random import Random

import numpy as np
import pytest
from lettering import label_boxes
from lxml import etree
from test_afloat import clashes, overlap, part

from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.plane.page import Stroke
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Recipe, Stations
from bodygen.report.pictures.bars import BAR_PAGE, HISTOGRAM_PAGE, ledger_bar, reserve_histogram
from bodygen.report.pictures.chart import round_steps, spread_within
from bodygen.weights.item import Item


def recipe(units="mm", name="Tarn perch"):
    return Recipe(name, units, Stations("b.csv", ()))


def items(masses):
    zero = np.zeros(3)
    return [Item(f"part {k}", stage, mass, zero, 0.0, zero) for k, (stage, mass) in enumerate(masses)]


LEDGER = [("drilled", 8.0), ("hangers", 0.5), ("ballast", 4.0), ("ballast", 0.5), ("sealed", 0.2), ("rigged", 3.0)]


def test_the_segments_are_as_long_as_the_stages_weigh():
    segments = part(ledger_bar(recipe(), items(LEDGER), 20.0), "segment")
    widths = np.array([np.ptp(s[:, 0]) for s in segments])
    assert widths / widths.sum() == pytest.approx(np.array([8.0, 0.5, 4.5, 0.2, 3.0]) / 16.2)
    assert segments[1][:, 0].min() == pytest.approx(segments[0][:, 0].max())


def test_the_water_stands_at_its_own_weight_on_the_same_scale():
    sheet = ledger_bar(recipe(), items(LEDGER), 20.0)
    ends = np.concatenate(part(sheet, "segment"))[:, 0]
    (water,) = part(sheet, "water pushed aside")
    assert (water[0, 0] - ends.min()) / np.ptp(ends) == pytest.approx(20.0 / 16.2)
    texts = [text for text, _ in label_boxes(sheet)]
    assert {"total 16.20 g", "water pushed aside 20.00 g", "+4.50 g", "ballast"} <= set(texts)
    assert any("a reserve of 3.80 g" in text for text in texts)


def test_a_bait_that_sinks_says_so():
    texts = [text for text, _ in label_boxes(ledger_bar(recipe(), items(LEDGER), 15.0))]
    assert any("1.20 g too heavy to float" in text for text in texts)


@pytest.mark.parametrize("seed", range(40))
def test_no_lettering_of_the_ledger_overlaps_or_leaves_the_page(seed):
    """Any eight stages, heavy or next to nothing, in grams or with ounces."""
    dice = Random(seed)  # noqa: S311  baits, not secrets
    masses = [(stage, 10 ** dice.uniform(-3, 2.5)) for stage in STAGES[1:] if dice.random() < 0.85] or [
        ("drilled", 1.0)
    ]
    whole = sum(mass for _, mass in masses)
    name = dice.choice(["x", "Perch with an endless name that nobody could want on any drawing at all " * 3])
    sheet = ledger_bar(recipe(dice.choice(["mm", "in"]), name), items(masses), whole * dice.uniform(0.6, 2.0))
    assert (sheet.width, sheet.height) == BAR_PAGE
    assert clashes(sheet) == []


def draws(seed, n=10000):
    rng = np.random.default_rng(seed)
    return rng.normal(rng.uniform(-6, 6), 10 ** rng.uniform(-2, 1), n)


@pytest.mark.parametrize("seed", range(40))
def test_no_lettering_of_the_histogram_overlaps_or_leaves_the_page(seed):
    values = draws(seed, 500)
    chosen = [None, float(values.mean()), float(values.max() + 3 * np.ptp(values))][seed % 3]
    sheet = reserve_histogram(recipe(["mm", "in"][seed % 2]), values, chosen)
    assert (sheet.width, sheet.height) == HISTOGRAM_PAGE
    boxes = [box for _, box in label_boxes(sheet)]
    assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if overlap(a, b)]
    assert min(min(x0, y0) for x0, y0, *_ in boxes) > 2
    assert max(x1 for *_, x1, _ in boxes) < sheet.width - 2
    bars = part(sheet, "bar")
    assert 1 <= len(bars) <= 62


def test_the_bars_hold_every_draw_once_and_the_marks_are_the_percentiles():
    values = draws(5)
    sheet = reserve_histogram(recipe(), values, 1.0)
    bars = part(sheet, "bar")
    (frame,) = part(sheet, "axes")
    tallest = max(np.ptp(b[:, 1]) for b in bars)
    assert tallest / np.ptp(frame[:, 1]) == pytest.approx(1 / 1.05, abs=1e-3)
    lines = [p[0, 0] for p in part(sheet, "percentile")]
    p10, p50, p90 = np.percentile(values, (10, 50, 90))
    assert (lines[1] - lines[0]) / (lines[2] - lines[0]) == pytest.approx((p50 - p10) / (p90 - p10))
    assert len(part(sheet, "asked for")) == 1
    shares = np.array([np.ptp(b[:, 1]) for b in bars])
    assert all(np.ptp(b[:, 0]) == pytest.approx(np.ptp(bars[0][:, 0])) for b in bars)
    # the bars' edges, read back as grams from where two percentiles stand, take the draws as high as they are drawn
    grams = np.array([[b[:, 0].min(), b[:, 0].max()] for b in bars]) - lines[0]
    edges = p10 + grams * (p90 - p10) / (lines[2] - lines[0])
    counts = np.array([np.count_nonzero((values >= a) & (values < b)) for a, b in edges + 1e-9])
    assert counts.sum() == len(values)
    assert shares / tallest == pytest.approx(counts / counts.max(), abs=1 / counts.max())  # one draw may lie on an edge


def test_draws_that_sink_are_counted_and_hatched():
    values = np.concatenate([np.full(25, -1.0), np.full(75, 2.0)]) + np.linspace(0, 0.2, 100)
    sheet = reserve_histogram(recipe(), values)
    assert any("25.0 % of them sink (hatched)" in text for text, _ in label_boxes(sheet))
    assert part(sheet, "hatching")
    assert not part(reserve_histogram(recipe(), values + 2), "hatching")


@pytest.mark.parametrize("values", [[1.0], [1.0, float("nan")]])
def test_no_spread_is_shown_where_there_is_none(values):
    with pytest.raises(ValueError, match="no spread to show"):
        reserve_histogram(recipe(), values)


def test_equal_draws_are_one_bar():
    assert len(part(reserve_histogram(recipe(), [2.0, 2.0, 2.0]), "bar")) == 1


def test_both_pictures_are_the_same_bytes_every_time_and_read_as_xml():
    for make in (
        lambda: ledger_bar(recipe(), items(LEDGER), 20.0),
        lambda: reserve_histogram(recipe("in"), draws(2), 1.0),
    ):
        assert page_svg(make()) == page_svg(make())
        assert page_png(make(), 60) == page_png(make(), 60)
        assert etree.fromstring(page_svg(make()).encode()).tag.endswith("svg")


@pytest.mark.parametrize(("low", "high", "most"), [(0, 1, 5), (-0.003, 0.004, 7), (-7.3, 912.0, 4), (5.0, 5.0001, 6)])
def test_round_steps_lie_between_the_ends_and_are_no_more_than_asked(low, high, most):
    steps = round_steps(low, high, most)
    assert 1 <= len(steps) <= most
    assert all(low - 1e-9 <= s <= high + 1e-9 for s in steps)
    assert np.diff(steps) == pytest.approx(np.diff(steps)[0] if len(steps) > 1 else [])


def test_places_are_kept_apart_and_between_the_ends():
    places = spread_within([9.0, 9.1, 9.2, 9.3], [1.0, 1.0, 1.0, 1.0], 0.0, 10.0)
    assert places == pytest.approx([3.0, 5.0, 7.0, 9.0])


def test_no_stroke_of_the_ledger_leaves_the_page():
    sheet = ledger_bar(recipe("in"), items(LEDGER), 40.0)
    points = np.array([p for m in sheet.marks if isinstance(m, Stroke) for p in m.points])
    assert points.min() > 5
    assert np.all(points < np.array(BAR_PAGE) - 5)
