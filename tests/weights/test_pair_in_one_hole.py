"""A mirrored pair of bores that meet in one hole: the second takes nothing, whatever the rounding of nothing says."""

from pathlib import Path

from bodygen.pipeline import assess
from bodygen.recipe.read import parse_recipe

PERCH = (Path(__file__).parents[2] / "params" / "tarn-perch-70.toml").read_text(encoding="utf-8")


def test_a_pair_that_goes_right_through_is_told_to_come_out_and_weighed_once():
    """Found by a random bait: a volume of -1e-15 was refused as no place, one of +1e-16 was weighed."""
    where = 'kind = "any"\nfrom = "side"\nx = "25 mm"\ndiameter = "3 mm"\ndepth = "40 mm"\nmirror = true\n'
    pair = f'\n[[bore]]\nname = "pair"\n{where}'
    codes = {}
    for name in ("pair", "other name"):
        a = assess(parse_recipe(PERCH + pair.replace("pair", name)))
        codes[name] = {f.code for f in a.findings if f.severity == "error"}
        first, second = (cavity.cavity.volume for cavity in a.measured.bores[-2:])
        assert first > 50
        assert second < 1e-6
    assert "bore-breaks-out" in codes["pair"] or "bores-meet" in codes["pair"]
    assert codes["pair"] == codes["other name"]
