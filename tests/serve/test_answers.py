"""What the page is told is what the commands tell, and what is changed on it goes into the recipe's own text."""

import json
import tomllib

import manifold3d
import numpy as np
import pytest
from tab import PARAMS, PERCH

import bodygen
from bodygen.cli import main
from bodygen.explain.answers import answers
from bodygen.log.entry import today
from bodygen.recipe.changes import changed_text
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.starter import starter_text
from bodygen.report.properties import as_json
from bodygen.report.sheet import caution_keys
from bodygen.serve.answer.more import ONCE, more_of, outs_of
from bodygen.serve.answer.solid import screen_part
from bodygen.tables import load

TEXT = PERCH.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def whole(page):
    return page.ask(TEXT, want="whole")


def field(answer, key):
    return next(f for group in answer["groups"] for f in group["fields"] if f["key"] == key)


def test_figures_and_doubts_are_those_that_weigh_prints(whole):
    told, _ = whole
    printed = json.loads(as_json(bodygen.properties(bodygen.assess(bodygen.read_recipe(PERCH)))))
    same = {key: value for key, value in printed.items() if key != "recipe_sha256"}
    assert {key: told["figures"][key] for key in same} == same
    assert [f["code"] for f in told["findings"]] == [f["code"] for f in printed["findings"]]
    assert (told["refused"], told["faint"], told["text"]) == (None, [], TEXT)


def test_a_doubt_says_what_is_wrong_in_the_terminals_words_and_what_explain_means_by_them(whole, capsys):
    told, _ = whole
    main(["check", str(PERCH)])
    printed = capsys.readouterr().out
    assert told["findings"]
    for doubt in told["findings"]:
        assert f"{doubt['where']}: {doubt['text']}\n" in printed
        assert doubt["text"].startswith(doubt["code"])
        assert doubt["about"] == answers(doubt["code"])[0].about
        assert doubt["text"] != doubt["remedy"] != doubt["about"]


def test_every_key_of_the_recipe_is_a_field_in_the_order_of_the_bench(whole):
    told, _ = whole
    assert [group["name"] for group in told["groups"]] == ["body", "wood", "metal", "lip", "hooks", "finish", "tub"]
    depth, species = field(told, "bore[1].depth"), field(told, "wood.species")
    assert (depth["value"], depth["number"], depth["unit"], depth["kind"]) == ("3/8 in", 0.375, "in", "length")
    assert depth["low"] < 0.375 < depth["high"] <= 2.75  # no deeper than the bait is long
    assert depth["sentence"].startswith("along the drill's axis")
    assert species["kind"] == "choice"
    assert "basswood" in species["choices"]
    assert field(told, "bore[4].lean")["value"] == ""
    assert field(told, "bore[4].lean")["default"] == "0 deg"
    doubted = field(told, "lip.bend.angle")["findings"]
    assert [told["findings"][number]["code"] for number in doubted] == ["lip-bend-flat"]


def test_a_change_keeps_comments_and_is_written_as_people_write_it(page):
    told, _ = page.ask(TEXT, {"bore[1].depth": "13/32 in", "wood.moisture_percent": "11", "lip.fit": None})
    lines = told["text"].splitlines()
    assert 'depth = "13/32 in"' in lines
    assert "moisture_percent = 11" in lines
    assert not [line for line in lines if line.startswith("fit =")]
    kept = [line for line in TEXT.splitlines() if "#" in line]
    assert [line for line in lines if "#" in line] == kept


def test_a_glance_weighs_and_floats_as_the_whole_does(page):
    change = {"bore[1].depth": "0.4 in", "lip.angle": "44 deg"}
    page.ask(TEXT, want="whole")
    glanced, _ = page.ask(TEXT, change)
    whole, _ = page.ask(TEXT, change, want="whole")
    for name in ("mass_g", "centre_of_mass_mm"):
        assert np.allclose(glanced["figures"]["total"][name], whole["figures"]["total"][name], atol=1e-6)
    for name in ("pitch_deg", "reserve_g", "gm_mm"):  # two ways to one rest, each to the solver's own residual
        assert glanced["figures"]["float"][name] == pytest.approx(whole["figures"]["float"][name], abs=1e-5)
    assert glanced["groups"] is None
    assert "findings" in glanced["faint"]


def test_a_mistake_is_told_as_the_terminal_tells_it_and_the_next_change_mends_it(page):
    told, buffers = page.ask(TEXT, {"bore[1].depth": "a thumb"})
    (mistake,) = told["refused"]
    assert (mistake["key"], mistake["wrote"]) == ("bore[1].depth", '"a thumb"')
    assert "not a length" in mistake["message"]
    assert "groups" not in told
    assert buffers == b""
    again, _ = page.ask(told["text"], {"bore[1].depth": "3/8 in"})
    assert again["refused"] is None
    assert again["text"] == TEXT


@pytest.mark.parametrize("text", ["", "][", "a = 1", 'format = 1\nname = "x"', "x = " + "[" * 2000])
def test_any_text_is_answered_with_a_refusal(page, text):
    told, _ = page.ask(text, {"shape.length": "3 in"})
    assert told["refused"]
    assert all(mistake["message"] for mistake in told["refused"])


@pytest.mark.parametrize("want", ["glance", "whole"])
def test_the_solid_is_closed_triangles_around_the_body(page, want):
    page.ask(TEXT, want="whole")
    told, buffers = page.ask(TEXT, want=want)
    body = next(part for part in told["solid"]["parts"] if part["role"] == "body")
    points = np.frombuffer(buffers, "<f4", body["positions"][1], body["positions"][0]).reshape(-1, 3)
    faces = np.frombuffer(buffers, "<u2", body["index"][1], body["index"][0]).reshape(-1, 3)
    normals = np.frombuffer(buffers, "<i2", body["normals"][1], body["normals"][0]).reshape(-1, 4)
    assert len(normals) == len(points)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(32767, abs=1)
    a, b, c = (points[faces[:, i]].astype(float) for i in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6000
    left = bodygen.properties(bodygen.assess(bodygen.read_recipe(PERCH)))["body"]["cut_volume_cm3"]
    assert volume == pytest.approx(left, rel=0.02)  # of facets 0.08 mm off the skin
    assert len(faces) < 8000
    assert {"lip", "metal", "hook", "eye", "screw_eye"} <= {part["role"] for part in told["solid"]["parts"]}


def test_parts_that_the_page_holds_do_not_come_again(page):
    page.ask(TEXT, want="whole")
    told, buffers = page.ask(TEXT)
    again, _ = page.ask(TEXT)
    names = {part["name"]: part["role"] for part in told["solid"]["parts"]}
    same = [part["role"] for part in again["solid"]["parts"] if part["name"] in names]
    assert {"body", "lip", "metal", "eye"} <= set(same)  # a name follows from the numbers; hooks hang as the bait lies
    deeper, fewer = page.ask(TEXT, {"bore[1].depth": "0.45 in"}, holds=sorted(names))
    came = {part["role"]: part for part in deeper["solid"]["parts"] if part["positions"]}
    assert {"body", "metal"} <= set(came)  # a deeper bore, and more lead in it
    assert "lip" not in came
    assert all(part["name"] in names for part in deeper["solid"]["parts"] if not part["positions"])
    assert not set(names) & {part["name"] for part in came.values()}
    each = {"positions": 4, "normals": 2, "index": 2}
    long = {kind: [size * part[kind][1] for part in came.values()] for kind, size in each.items()}
    assert len(fewer) == sum(length + -length % 4 for lengths in long.values() for length in lengths)
    assert all(part[kind][0] % 4 == 0 for part in came.values() for kind in each)
    assert len(fewer) < len(buffers)


def test_a_part_of_many_corners_has_longer_numbers():
    many = manifold3d.Manifold.sphere(10.0, 512)
    few = manifold3d.Manifold.sphere(10.0, 64)
    assert many.num_vert() > 65536 > few.num_vert()
    for solid, size in ((many, 4), (few, 2)):
        part = screen_part("body", solid)
        assert len(part.runs["index"]) == size * part.sizes["index"]
        places = np.frombuffer(part.runs["positions"], "<f4").reshape(-1, 3)
        normals = np.frombuffer(part.runs["normals"], "<i2").reshape(-1, 4)[:, :3] / 32767
        assert np.abs(normals - places / 10).max() < 0.02  # of a ball


FULLER = {"bore[1].diameter": "6 mm", "bore[1].drill": None, "shape.squareness": "{ back = 2.4, belly = 2.1 }"}


@pytest.mark.parametrize(
    ("view", "x_mm", "changes", "keys"),
    [
        ("side", None, {}, ["bore[1].x", "bore[1].depth", "lip.x", "lip.angle", "lip.length", "lip.slot_depth"]),
        # through the ballast bore
        (
            "section",
            28.6,
            {},
            ["shape.thickness", "shape.depth", "shape.squareness", "bore[1].offset", "bore[1].depth"],
        ),
        ("section", 28.6, FULLER, ["shape.squareness.back", "shape.squareness.belly", "bore[1].diameter"]),
        # a section far from the thickest: its own millimetre is more than one of the thickness
        ("section", 55.0, {}, ["shape.thickness", "shape.depth", "shape.squareness"]),
    ],
)
def test_the_drawing_has_handles_that_move_what_they_say(page, view, x_mm, changes, keys):
    """A handle dragged a little moves its own place as far along, but for rounding of angles."""
    more, drawn = {"view": view, "section_x_mm": x_mm}, 1.0 if view == "side" else 0.05
    page.ask(TEXT, changes, want="whole", **more)
    told, _ = page.ask(TEXT, changes, **more)
    handles = {handle["key"]: handle for handle in told["drawing"]["handles"]}
    assert set(keys) <= set(handles)
    for key in keys:
        before = handles[key]
        moved, _ = page.ask(told["text"], {key: f"{before['number'] + drawn * before['per_mm']:.6f}"}, **more)
        after = next(handle for handle in moved["drawing"]["handles"] if handle["key"] == key)
        step = (np.array(after["at"]) - before["at"]) @ before["along"]
        assert step == pytest.approx(drawn, abs=0.05 * drawn + 0.001), key  # skin slopes, arcs bend; told in um


@pytest.mark.parametrize("view", ["side", "plan", "nose", "section"])
def test_every_view_draws_what_lies_in_its_box(page, view):
    page.ask(TEXT, want="whole")
    told, _ = page.ask(TEXT, view=view, section_x_mm=28.6)
    x0, y0, x1, y1 = told["drawing"]["box"]
    roles = {shape["role"] for shape in told["drawing"]["shapes"]}
    assert {"outline", "bore"} <= roles
    for shape in told["drawing"]["shapes"]:
        points = np.array(shape["points"])
        if shape["role"] != "waterline":
            assert (points >= (x0, y0)).all()
            assert (points <= (x1, y1)).all()


@pytest.mark.parametrize("demo", sorted(path.stem for path in PARAMS.glob("*.toml")))
def test_every_demo_is_shown(page, demo):
    file = f"demo:{demo}"
    text = page.get("recipe", file=file).json()["text"]
    told, _ = page.ask(text, want="whole", file=file)
    assert told["refused"] is None
    assert told["sentence"].startswith("Floats")
    assert len(told["scale"]) > 5
    called = load("cautions")["caution"]
    care = {row["title"] for rows in told["care"]["groups"].values() for row in rows}
    assert {called[key]["title"] for key in caution_keys(bodygen.parse_recipe(text, PARAMS / f"{demo}.toml"))} <= care
    colours = [layer["colour"] for layer in (told["paint"] or {"left": []})["left"]]
    assert colours == [paint.colour for paint in bodygen.parse_recipe(text, PARAMS / f"{demo}.toml").paints]
    water = told["water"]
    curve = dict(water["righting"]["roll"])
    weight_n = 9.80665e-3 * water["mass_g"]
    assert curve[0.0] == pytest.approx(0.0, abs=1e-3)  # it rests there
    assert curve[4.0] > 0 > curve[-4.0]
    # near rest the arm is GM sin (E. C. Tupper, as in flotation/righting.py), at 4 degrees within a tenth
    assert curve[4.0] == pytest.approx(weight_n * water["gm_mm"] * np.sin(np.radians(4)), rel=0.1)
    assert all(0 < water["damping"][name] < 1 and water["added_mass"][name] > 0 for name in ("heave", "roll", "pitch"))


def test_a_new_recipe_is_one_that_is_read(page):
    made = page.post("new", {"name": "Evening bleak", "size": "3 in", "units": "in", "family": "leaf"}).json()
    assert (made["file"], made["suggested"]) == (None, "evening-bleak.toml")
    told, _ = page.ask(made["text"], want="whole")
    assert (told["refused"], told["name"], told["units"]) == (None, "Evening bleak", "in")
    wrong = page.post("new", {"name": "Evening bleak", "size": "3 furlongs"})
    assert wrong.status == 422
    assert wrong.json()["error"].startswith('Length = "3 furlongs": '), "by its box: there is no command line"


@pytest.mark.parametrize("demo", ["beck-dace-80", "tarn-perch-70"])
def test_all_that_may_be_put_in_is_understood_whole_and_what_was_put_in_may_be_taken_out(demo):
    text = (PARAMS / f"{demo}.toml").read_text(encoding="utf-8")
    recipe = bodygen.read_recipe(PARAMS / f"{demo}.toml")
    more = more_of(tomllib.loads(text), recipe.units, 70.0)
    put = [one for group in more.values() for one in group]
    assert {one["key"].partition("[")[0] for one in put} >= {"bore", "fitting", "coat", "mask", "paint", "wire_slot"}
    assert set(ONCE) == {one["key"] for one in put if one["key"] in ONCE} | {name for name in ONCE if name in text}
    for one in put:
        changed = changed_text(text, {one["key"]: one["value"]})
        parse_recipe(changed, str(PARAMS / f"{demo}.toml"))
        assert one["key"] in outs_of(tomllib.loads(changed))
        assert changed_text(changed, {one["key"]: None}).split() == text.split()


def test_a_calendar_that_is_put_in_begins_today():
    (finish,) = (one for one in more_of({}, "mm", 70.0)["finish"] if one["key"] == "finish")
    assert tomllib.loads(f"finish = {finish['value']}")["finish"]["start"] == today()


@pytest.mark.parametrize("demo", ["beck-dace-80", "reedbed-roach-65"])
def test_one_more_bore_runs_into_none_that_is_there_however_that_is_drilled(demo):
    """The dace's front ballast is drilled from a point, the roach's keel is wide: either was run into."""
    path = PARAMS / f"{demo}.toml"
    text = path.read_text(encoding="utf-8")
    before = bodygen.assess(bodygen.read_recipe(path))
    more = more_of(tomllib.loads(text), before.recipe.units, before.shaped.sizes[0])
    for one in (one for group in more.values() for one in group if one["words"].startswith("Another bore")):
        after = bodygen.assess(parse_recipe(changed_text(text, {one["key"]: one["value"]}), str(path)))
        assert [doubt.code for doubt in after.findings if doubt.severity == "error"] == []


def test_a_lip_that_is_put_in_is_the_one_that_a_new_recipe_of_that_length_has():
    (lip,) = (one for one in more_of({}, "in", 100.0)["lip"] if one["key"] == "lip")
    assert tomllib.loads(f"lip = {lip['value']}") == {"lip": tomllib.loads(starter_text("any", "in", 100.0))["lip"]}
