"""``[shop]``: what may be said of printer, cutters and boards, and what is refused."""

import pytest

from bodygen.errors import InputError
from bodygen.recipe.model import Shop
from bodygen.recipe.read import recipe_from_bytes
from bodygen.shop.mill.cutters import cutter_named

GOOD = 'format = 1\n[shape]\nlength = "70 mm"\ndepth = "22 mm"\nthickness = "16 mm"\n[shop]\n'


def read(tmp_path, keys):
    return recipe_from_bytes((GOOD + keys).encode(), tmp_path / "perch.toml").shop


def test_a_shop_left_out_says_nothing(tmp_path):
    assert read(tmp_path, "") == Shop()


def test_a_shop_is_read_in_millimetres_and_per_cent(tmp_path):
    keys = 'printer_bed = ["10 in", 220, 250]\nshrink_percent = "1.5 %"\nbush = "1/2 in"\nroughing = "flat_6"'
    found = read(tmp_path, keys)
    assert found == Shop(printer_bed=(254.0, 220.0, 250.0), shrink_percent=1.5, bush=12.7, roughing="flat_6")


def test_a_router_is_read_in_turns_and_millimetres_a_minute(tmp_path):
    found = read(tmp_path, 'spindle_speeds = [16000, 10000]\nfastest_feed = "80 in/min"\nfastest_plunge = 300')
    assert found.spindle_speeds == (10000.0, 16000.0)
    assert found.fastest_feed == pytest.approx(2032.0)  # 80 x 25.4
    assert found.fastest_plunge == pytest.approx(300.0)
    assert read(tmp_path, "spindle_speeds = 12000\nclamp_height = 0").spindle_speeds == (12000.0,)


@pytest.mark.parametrize("key", ["fastest_feed", "fastest_plunge"])
@pytest.mark.parametrize(
    ("written", "feed"),
    [
        ("1.2 m/min", 1200.0),
        ("1200 mm/min", 1200.0),
        ("1200mm/min", 1200.0),
        ("120 cm / min", 1200.0),
        ("20 mm/s", 1200.0),
        ("80 in/min", 2032.0),
        ("80 inches/min", 2032.0),
        ('80 "/min', 2032.0),
        ("80 ipm", 2032.0),
        ("4 ft/min", 1219.2),
    ],
)
def test_a_feed_is_read_as_people_write_it(tmp_path, key, written, feed):
    """By exact factors: an inch is 25.4 mm, a foot twelve of them, a minute 60 s."""
    assert getattr(read(tmp_path, f"{key} = '{written}'"), key) == pytest.approx(feed, rel=1e-12)


def test_what_is_said_of_a_wrong_feed_is_said_in_feeds(tmp_path):
    with pytest.raises(InputError) as caught:
        read(tmp_path, 'fastest_feed = "80 in"')
    assert '"1200 mm/min", "1.2 m/min" or "48 in/min"' in str(caught.value)
    text = 'format = 1\nunits = "in"\n[shape]\nlength = 3\ndepth = 1\nthickness = "5/8 in"\n[shop]\nfastest_feed = 1e6'
    with pytest.raises(InputError, match=r"more than the most accepted, 1181 in/min"):  # 30000 / 25.4
        recipe_from_bytes(text.encode(), tmp_path / "perch.toml")


def test_a_bare_feed_of_an_inch_recipe_is_in_inches_a_minute(tmp_path):
    text = 'format = 1\nunits = "in"\n[shape]\nlength = 3\ndepth = 1\nthickness = "5/8 in"\n[shop]\nfastest_feed = 80'
    found = recipe_from_bytes(text.encode(), tmp_path / "perch.toml").shop.fastest_feed
    assert found == pytest.approx(2032.0)


@pytest.mark.parametrize(
    ("written", "diameter"),
    [("flat 1/16 in", 1.5875), ("flat 1/4 in", 6.35), ("Flat 3 mm", 3.0), ("flat_3", 3.175), ("flat 0.125 in", 3.175)],
)
def test_a_cutter_is_known_by_its_size_as_it_is_sold(tmp_path, written, diameter):
    assert cutter_named(read(tmp_path, f'roughing = "{written}"').roughing).diameter == diameter


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('roughing = "flat_5"', 'Did you mean "flat_'),
        ('finishing = "ball 5 mm"', '"ball 1/16 in", "ball 2 mm", "ball 3 mm"'),
        ("spindle_speeds = []", "an empty list"),
        ("spindle_speeds = [10000, 5]", "less than the least accepted, 1000"),
        ('fastest_feed = "2 mm"', "mm/min"),
        ("fastest_feed = 1e9", "more than the most accepted, 30000 mm/min"),
        ("clamp_height = -1", "less than the least accepted"),
        ('roughing = "ball_3"', "not a flat cutter"),
        ('finishing = "flat_3"', "not a ball cutter"),
        ('fit = "tight"', "press, slide, loose"),
        ("bush = 6\ncutter = 8", "narrower than the cutter in it"),
        ("printer_bed = [220, 220]", "not a list of 3"),
        ("shrink_percent = 60", "more than the most accepted"),
    ],
)
def test_what_no_shop_has_is_refused(tmp_path, keys, said):
    with pytest.raises(InputError) as caught:
        read(tmp_path, keys)
    assert said in str(caught.value)
