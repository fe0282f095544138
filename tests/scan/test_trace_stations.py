"""The command: readings in, an ordinary recipe out, its figures in words and in JSON."""

import json

import pytest
import traced

import bodygen
from bodygen.cli import main
from bodygen.form.integrals import body_volume


def readings(body, count=12, digits=1, head="x_mm,top_mm,bottom_mm,half_width_mm") -> str:
    """A body's sizes at places evenly apart, as callipers say them."""
    rows = [head]
    for i in range(count):
        x = body.length * i / (count - 1)
        belly, back = (float(z[0]) for z in body.heights_at([x]))
        rows.append(
            f"{x:.{digits}f},{back:.{digits}f},{belly:.{digits}f},{float(body.half_width_at([x])[0]):.{digits}f}"
        )
    return "\n".join(rows) + "\n"


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder to work in, with readings of a plain body in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "r.csv").write_text(readings(traced.plain("squareness = 2.2\n")), encoding="utf-8")
    return tmp_path


def test_a_trace_prints_its_path_and_what_it_found(bench, capsys):
    assert main(["trace", "stations", "r.csv", "--name", "Old bleak", "--bare"]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("old-bleak.toml\n")
    assert "guessed   squareness: taken as 2.2" in said.out
    assert said.err == ""
    assert {p.name for p in bench.iterdir()} >= {"old-bleak.toml", "old-bleak-fit.svg", "old-bleak-fit.png"}


def test_its_json_is_one_document_alone_and_the_recipe_weighs(bench, capsys):
    assert main(["trace", "stations", "r.csv", "--name", "Old bleak", "--bare", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["recipe"], document["kind"], document["units"]) == ("old-bleak.toml", "stations", "mm")
    assert document["fit"]["points"] == 36
    bait = bodygen.assess(bodygen.read_recipe("old-bleak.toml"))
    assert bait.shaped.volume.volume / 1000 == pytest.approx(document["volume_cm3"], rel=1e-6)
    assert document["volume_cm3"] == pytest.approx(
        body_volume(traced.plain("squareness = 2.2\n")).volume / 1000, rel=0.015
    )


def test_the_float_is_copied_by_ballast(bench, capsys):
    assert main(["trace", "stations", "r.csv", "--name", "Old bleak", "--mass", "9 g", "--pitch", "4 deg"]) == 0
    assert main(["ballast", "old-bleak.toml", "--json"]) in (0, 1)
    offers = json.loads(capsys.readouterr().out.partition("\n{")[2].join(["{", ""]))["offers"]
    assert offers


def test_without_the_extra_for_pictures_the_recipe_and_the_svg_are_there(bench, capsys, monkeypatch):
    monkeypatch.setattr("bodygen.scan.written.missing", tuple)
    assert main(["trace", "stations", "r.csv", "--name", "Old bleak"]) == 0
    assert capsys.readouterr().err == "without the extra paper there is no PNG of the fit; the SVG is there\n"
    assert {p.name for p in bench.iterdir() if p.name.startswith("old")} == {"old-bleak.toml", "old-bleak-fit.svg"}


def test_units_are_those_of_the_readings_or_as_told(bench):
    assert main(["trace", "stations", "r.csv", "--name", "a", "--units", "in"]) == 0
    assert bodygen.read_recipe("a.toml").units == "in"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["stations", "none.csv", "--name", "x"], "none.csv: no such file."),
        (["stations", "r.csv"], "the following arguments are required: --name"),
        (["stations", "r.csv", "--name", "x", "--mass", "heavy"], '--mass = "heavy"'),
        (["stations", "r.csv", "--name", "x", "--pitch", "95 deg"], "outside what is accepted"),
        (["stations", "r.csv", "--name", "x", "--smooth", "0.1 mm"], "outside what is accepted"),
        (["stations", "r.csv", "--name", " "], "no name for a bait"),
        (["statoins", "r.csv"], "no way statoins. Did you mean stations?"),
    ],
)
def test_a_mistake_leaves_nothing_and_says_what(bench, capsys, words, said):
    assert main(["trace", *words]) == 2
    assert said in capsys.readouterr().err
    assert [p.name for p in bench.iterdir()] == ["r.csv"]
