"""``[shop]``: what may be said of printer, cutters and boards, and what is refused."""

import pytest

from bodygen.errors import InputError
from bodygen.recipe.model import Shop
from bodygen.recipe.read import recipe_from_bytes

GOOD = 'format = 1\n[shape]\nlength = "70 mm"\ndepth = "22 mm"\nthickness = "16 mm"\n[shop]\n'


def read(tmp_path, keys):
    return recipe_from_bytes((GOOD + keys).encode(), tmp_path / "perch.toml").shop


def test_a_shop_left_out_says_nothing(tmp_path):
    assert read(tmp_path, "") == Shop()


def test_a_shop_is_read_in_millimetres_and_per_cent(tmp_path):
    keys = 'printer_bed = ["10 in", 220, 250]\nshrink_percent = "1.5 %"\nbush = "1/2 in"\nroughing = "flat_6"'
    found = read(tmp_path, keys)
    assert found == Shop(printer_bed=(254.0, 220.0, 250.0), shrink_percent=1.5, bush=12.7, roughing="flat_6")


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('roughing = "flat_4"', 'Did you mean "flat_'),
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
