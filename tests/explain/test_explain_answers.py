"""``bodygen explain``: every key, finding, kind and file has an answer, and an unknown word the nearest right one."""

import json

import pytest

from bodygen import tables
from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.explain.answers import answers, words
from bodygen.explain.shown import as_text
from bodygen.files.kinds import GROUPS, KINDS
from bodygen.recipe.about import every_key
from bodygen.recipe.keys import RECIPE

KEYS = dict(every_key())
FILES = tables.load("files")["file"]


def test_every_key_is_explained_with_what_it_accepts_and_feeds():
    for path, key in KEYS.items():
        first = answers(path)[0].document
        assert (first["name"], first["required"]) == (path, key.required)
        assert first["about"]
        assert first["accepted"]
        assert first["example"]
        assert "pictures" in first["feeds"]
        assert set(first["choices"]) == set(key.choices)
        assert (first["least"] is None) == (not key.bounds)


@pytest.mark.parametrize("code", tables.load("findings")["finding"])
def test_every_finding_is_explained_with_what_to_do_and_its_limits_source(code):
    (answer,) = answers(code)
    assert answer.document["what"] == "finding"
    assert answer.document["to_do"]
    assert answer.document["limit"]
    assert all(one["title"] for one in answer.document["sources"])


@pytest.mark.parametrize("name", [*GROUPS, *(kind.name for kind in KINDS)])
def test_every_kind_of_file_is_explained(name):
    (found,) = [answer.document for answer in answers(name) if answer.document["what"] in {"kind", "group"}]
    if found["what"] == "kind":
        assert found["files"] == [file for row in FILES.values() if row["kind"] == name for file in row["names"]]
    else:
        assert found["kinds"] == list(GROUPS[name])


def test_every_file_belongs_to_a_kind_and_is_explained():
    kinds = {row["kind"] for row in FILES.values()}
    assert kinds == {"", *(kind.name for kind in KINDS)}
    for row in FILES.values():
        for name in row["names"]:
            shown = name.replace("*", "7")
            found = [answer.document for answer in answers(shown) if answer.document["what"] == "file"]
            assert row["what"] in [one["about"] for one in found]
            assert len({one["kind"] for one in found}) == 1, shown


@pytest.mark.parametrize(
    "name", ["section-gauges-2.svg", "template-cards-1.dxf", "small-gauges-2", "mask-back-film-2.dxf"]
)
def test_a_numbered_sheet_of_a_set_is_explained_as_the_set_is(name):
    stem, dot, ending = name.partition(".")
    whole = f"{stem[:-2]}{dot}{ending}"
    assert [answer.document for answer in answers(name)] == [answer.document for answer in answers(whole)]


def test_the_end_of_a_key_names_every_key_that_ends_so():
    names = [answer.name for answer in answers("depth")]
    assert names == [path for path in KEYS if path.endswith(".depth")]
    assert [answer.name for answer in answers("fill.metal")] == ["bore.fill.metal"]
    assert [answer.document["what"] for answer in answers("lip")] == ["table", "kind", "file", "file"]


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("bore[2].depth", "bore.depth"),
        ("[lip.cutting]", "lip.cutting"),
        ("[[bore]]", "bore"),
        (" Bore.X ", "bore.x"),
        ("bore[3] tail hanger", "bore"),
    ],
)
def test_a_key_may_be_written_as_a_message_or_a_recipe_has_it(written, name):
    assert answers(written)[0].name == name


def test_a_word_that_keys_take_is_told_with_these_keys():
    assert as_text(answers("slug")) == "slug: a word that these keys take\n  bore.fill.placed  how it goes in"
    assert answers("tungsten_putty")[0].document["keys"] == ["bore.fill.metal", "goal.metal"]
    for path, key in KEYS.items():
        for word in key.choices:
            (value,) = [one.document for one in answers(word) if one.document["what"] == "value"]
            assert path in value["keys"]


def test_a_file_may_be_named_with_its_folder_or_without_its_ending():
    assert answers("out/tarn-perch-70/lip-cut.dxf")[0].about == FILES["lip-cut"]["what"]
    assert answers("half-right")[0].about == FILES["halves"]["what"]
    assert answers("mask-perch-bars-left.stl")[0].document["kind"] == "masks"


def test_every_word_that_completion_offers_has_an_answer():
    for word in words():
        assert answers(word)


def test_an_unknown_word_is_told_the_nearest_right_one():
    with pytest.raises(InputError) as caught:
        answers("bore.dpeth")
    assert str(caught.value) == (
        'command line: WORD = "bore.dpeth": nothing here has this name. Did you mean bore.depth?\n'
        "    a key of the recipe (bore.depth, or depth), a finding (bore-near-skin), a kind of file (gauges) or a file"
    )


def test_an_answer_is_worded_as_a_whole():
    assert as_text(answers("bore.lean")) == (
        "bore.lean: tips the drill: its inner end goes aft (for nose and tail: up) by this angle\n"
        "  accepted     angle, -80 to 80 deg; a bare number is in deg\n"
        "  if left out  0 deg\n"
        "  written      [[bore]]\n"
        '               lean = "10 deg"\n'
        "  feeds        solids, templates, gauges, block, cradles, mould, masks, carrier, wire, gcode; and\n"
        "               pictures, card, calendar, build sheet and figures, as every key does\n"
        "  in a copy    of another size it stays as it is"
    )
    assert answers("bore.depth")[0].document["accepted"] == (
        "length, 0.3 to 200 mm (0.01181 to 7.874 in); a bare number is in the file's units"
    )
    assert as_text(answers("hanger-empty")).splitlines()[2] == "  limit        12 mm from its mouth"


def test_no_line_is_longer_than_a_terminal_has_room_for():
    for word in words():
        assert max(map(len, as_text(answers(word)).splitlines())) <= 100


def test_the_command_prints_the_answers_and_ends_with_0(capsys):
    assert main(["explain", "gauges"]) == 0
    told = capsys.readouterr()
    assert "bodygen build RECIPE --only gauges" in told.out
    assert told.err == ""


def test_the_command_gives_one_json_document(capsys):
    assert main(["explain", "depth", "--json"]) == 0
    told = capsys.readouterr()
    document = json.loads(told.out)
    assert told.err == ""
    assert (document["format"], document["word"]) == (1, "depth")
    by_name = {answer["name"]: answer for answer in document["answers"]}
    assert by_name["bore.depth"] | {"least": 0.3, "most": 200.0, "unit": "mm"} == by_name["bore.depth"]


def test_a_word_that_means_nothing_is_exit_code_2(capsys):
    assert main(["explain", "gauegs", "--json"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "Did you mean gauges?" in told.err


def test_a_word_that_a_terminal_would_obey_is_shown(capsys):
    assert main(["explain", "\x1b[2J"]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_every_table_of_the_recipe_is_explained_by_its_keys():
    for name, key in RECIPE.items():
        if key.table:
            assert answers(name)[0].document["keys"] == list(key.table)


@pytest.mark.parametrize("word", tables.load("fishing")["word"])
def test_a_word_of_the_dives_answer_is_explained(word):
    assert word in words()
    assert tables.load("fishing")["word"][word]["what"] in {answer.about for answer in answers(word)}
