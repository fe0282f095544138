"""What takes longer: offers that can be put in, builds to download, the log, files that are dropped."""

import time

import pytest
from amount import MORE, only_with_more
from tab import PERCH, served

TEXT = PERCH.read_text(encoding="utf-8")
STATIONS = "x_mm,top_mm,bottom_mm,half_width_mm\n0,0,0,0\n10,5,-5,4\n25,8,-8,6\n45,6,-6,4\n60,0,0,0\n"


def long_ask(page, path, **more):
    return page.post(path, {"tab": "tab", "file": "perch.toml", "text": TEXT} | more)


def build(page, **more):
    number = long_ask(page, "build", **more).json()["job"]
    while (job := page.get("job", id=number).json())["state"] == "running":
        time.sleep(0.1)
    return job


def test_a_ballast_offer_put_into_the_recipe_floats_as_it_says(page):
    told = long_ask(page, "offers", kind="ballast", said={"reserve": "3 g", "bores": "given"}).json()
    offer = told["offers"][0]
    assert offer["met"]
    assert "stop when the scale reads" in offer["sentences"][-1]
    shown, _ = page.ask(TEXT, offer["changes"], want="whole")
    assert shown["figures"]["float"]["reserve_g"] == pytest.approx(offer["predicted"]["reserve_g"], abs=1e-6)


def test_what_stands_in_the_way_of_a_goal_is_a_sentence_each(page):
    told = long_ask(page, "offers", kind="ballast", said={"reserve": "-8 g", "bores": "given"}).json()
    assert told["sentences"][0].startswith("warning, goal: goal-out-of-reach -")
    assert all(": " in one and one.endswith("]") for one in told["sentences"]), "none is broken as for a terminal"


@only_with_more
def test_a_lip_that_is_offered_is_named_in_one_line_however_long(page):
    told = long_ask(page, "offers", kind="dive", said={"low": "1 m", "high": "2 m"}).json()
    for number, one in enumerate(told["offers"], 1):
        assert one["title"].startswith(f"{number}. ")
        assert one["title"].count(" by ") == len(one["changes"]), "lip longer by ..., lip wider by ..."
        assert "likely " in one["sentences"][0]


def test_what_a_tub_showed_is_answered_with_what_to_do(page):
    told = long_ask(page, "offers", kind="trim", said={"nose": "3 deg"}).json()
    assert told["offers"][0]["title"].startswith("1. ")
    shown, _ = page.ask(TEXT, told["offers"][0]["changes"], want="whole")
    assert shown["refused"] is None


def test_an_offer_that_is_asked_for_in_words_nobody_knows_is_refused_in_words(page):
    told = long_ask(page, "offers", kind="ballast", said={"reserve": "three spoons"}).json()
    assert "three spoons" in told["refused"][0]["wrote"]
    assert long_ask(page, "offers", kind="weather").status == 400


def test_a_build_says_how_far_it_is_and_its_files_come_with_their_cautions(page):
    job = build(page, only="block,gcode" if MORE else "block")
    assert (job["state"], job["folder"]) == ("done", "out/perch")
    files = {file["name"]: file for file in job["files"]}
    assert set(files) == {path.name for path in (page.folder / "out" / "perch").iterdir()}
    assert job["defer"].startswith("Your local law")
    assert job["cautions"]
    if MORE:
        assert all("Blades" in str(file["cautions"]) for name, file in files.items() if name.endswith(".ngc"))
    assert any(file["cautions"] for name, file in files.items() if name.endswith(".stl"))
    sheet = page.get("file/perch/build-sheet.txt")
    assert sheet.headers["content-disposition"].startswith("attachment")
    assert len(sheet.content) == files["build-sheet.txt"]["bytes"]
    for path in ("file/perch/none.txt", "file/../perch.toml", "file/perch/..%2f..%2fperch.toml", "file/perch/.x"):
        assert page.get(path).status == 404


def test_a_design_that_breaks_a_rule_is_not_built(page):
    job = build(page, text=TEXT.replace('depth = "3/8 in"', 'depth = "13/16 in"'), only="block")
    assert job["state"] == "failed"
    assert "no files were made" in job["message"]
    assert page.get("job", id="none").status == 404


def test_readings_go_into_the_log_of_a_saved_recipe(page):
    told = long_ask(page, "log", start="pale board", weighed={"drilled": "4.6 g"}).json()
    assert "drilled weighed 4.60 g" in told["sentences"][1]
    assert (page.folder / "bench-log.sqlite").exists()
    wrong = long_ask(page, "log", weighed={"drilled": "light"}).json()
    assert wrong["refused"]
    assert long_ask(page, "log", file=None).status == 400


def test_readings_that_are_dropped_become_a_recipe_of_the_folder(page):
    def drop(name, content):
        return page.send("POST", f"{page.below}drop?name={name}", content, {"content-type": "text/csv"})

    told = drop("copied.csv", STATIONS.encode()).json()
    assert told["file"] == "copied.toml"
    assert (page.folder / "copied.toml").read_text(encoding="utf-8") == told["text"]
    assert "/tmp" not in told["text"]  # noqa: S108  where the upload lay is nobody's business
    shown, _ = page.ask(told["text"], want="whole", file=told["file"])
    assert shown["refused"] is None
    assert drop("copied.csv", STATIONS.encode()).json()["file"] == "copied-2.toml"
    assert drop("perch.toml", TEXT.encode()).json()["text"] == TEXT
    assert drop("virus.exe", b"MZ").json()["refused"]
    assert drop("broken.stl", b"solid nothing").json()["refused"]


def test_no_link_leads_a_build_a_log_or_a_dropped_file_out_of_the_folder(tmp_path):
    folder, outside = tmp_path / "folder", tmp_path / "outside"
    folder.mkdir()
    outside.mkdir()
    (outside / "secret.txt").write_text("secret", encoding="utf-8")
    (folder / "perch.toml").write_text(TEXT, encoding="utf-8")
    for name, to in (
        ("out", outside), ("bench-log.sqlite", outside / "log"), ("beck-dace-80.csv", outside / "table"),
        ("copied.toml", outside / "copied"),
    ):  # fmt: skip
        (folder / name).symlink_to(to)
    page = served(folder)
    try:
        assert long_ask(page, "build", only="block").status == 404
        assert page.get("file/x/secret.txt").status == 404
        assert long_ask(page, "log", start="pale").status == 404
        dace = page.get("recipe", file="demo:beck-dace-80").json()["text"]
        told = {"file": "dace.toml", "text": dace, "sha256_before": None, "from": "demo:beck-dace-80"}
        assert page.post("save", told).status == 422
        page.send("POST", f"{page.below}drop?name=copied.csv", STATIONS.encode(), {"content-type": "text/csv"})
    finally:
        page.process.kill()
        page.process.communicate()
    assert [path.name for path in outside.iterdir()] == ["secret.txt"]
