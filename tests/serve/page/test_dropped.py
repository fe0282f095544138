"""A photo, a scan, a table, a recipe: let go over the page, or chosen by the keyboard; and what is refused."""

import cv2
import numpy as np
import pinhole
import pytest
import traced
from amount import only_with_more
from browsing import DEMOS, Hand
from pinhole import Shot
from scans import fine
from spoilt import MEGABYTE, SPOILT, stl

import bodygen
from bodygen.form.fairing.shape import body_of

pytestmark = only_with_more


@pytest.fixture(scope="module")
def photo():
    """A bait on the printed page, 70 mm long and 15 mm thick."""
    return cv2.imencode(".png", pinhole.photograph(traced.plain(), Shot(seed=1))[..., ::-1])[1].tobytes()


def scan():
    """The perch's own body as a closed STL."""
    body = body_of(bodygen.read_recipe(DEMOS / "tarn-perch-70.toml"))
    mesh = fine(body, 0.02)
    return stl(mesh.vertices[mesh.faces])


def thicker(share):
    """The same, so much deeper and thicker, as a scanner saw it: on end, its nose up."""
    mesh = fine(body_of(bodygen.read_recipe(DEMOS / "tarn-perch-70.toml")), 0.02)
    x, y, z = (mesh.vertices * (1.0, share, share)).T
    on_end = np.stack([y + 12, z - 5, 40 - x], axis=1)
    return stl(on_end[mesh.faces])


def read(hand, name):
    """Until the sheet says that it was read; its sentences. The bait lies on the bench then."""
    sheet = hand.sheet(f"{name} was read")
    sentences = sheet.inner_text()
    hand.page.keyboard.press("Escape")
    hand.page.get_by_role("heading", name=name.partition(".")[0], exact=True).wait_for()
    return sentences


def sizes(server, file):
    return body_of(bodygen.read_recipe(server.folder / file)).sizes()


def test_a_photo_let_go_over_the_page_opens_as_a_bait_of_its_size(hand, server, photo):
    hand.drop("evening.png", photo)
    sheet = hand.sheet("evening.png")
    sheet.get_by_role("textbox", name="Thickness").fill("15 mm")
    sheet.get_by_role("button", name="Read it").click()
    sentences = read(hand, "evening.png")
    assert "wrote evening.toml" in sentences
    assert "squareness: taken as 2.2, nobody measured the sections' corners; the volume then lies between" in sentences
    assert hand.page.locator("#state").inner_text() == "saved: evening.toml"
    length, depth, thickness = sizes(server, "evening.toml")
    # a photo on the page is good for 0.5 mm, and the coats of 0.1 to 0.3 mm are taken off at either end
    assert 69.0 < length < 70.5
    assert 21.0 < depth < 22.5
    assert 14.4 < thickness < 15


def test_a_scan_chosen_by_the_keyboard_opens_as_a_bait_of_its_size(hand, server):
    page = hand.page
    page.get_by_role("button", name="Shelf").focus()
    page.keyboard.press("Enter")
    chooser = page.get_by_label("a photo, a scan, a table of readings or a recipe")
    chooser.wait_for()
    for _ in range(60):
        page.keyboard.press("Tab")
        if chooser.evaluate("one => one === document.activeElement"):
            break
    with page.expect_file_chooser() as opened:
        page.keyboard.press("Enter")
    opened.value.set_files({"name": "found.stl", "mimeType": "model/stl", "buffer": scan()})
    hand.sheet("found.stl").get_by_role("button", name="Trace it").click()
    assert "wrote found.toml" in read(hand, "found.stl")
    true = body_of(bodygen.read_recipe(DEMOS / "tarn-perch-70.toml")).sizes()
    # within 0.3 mm, and two coats of 0.1 to 0.3 mm, at either end, are taken off
    off = [one - other for one, other in zip(true, sizes(server, "found.toml"), strict=True)]
    assert all(0 < one < 0.9 for one in off)


def test_a_recipe_let_go_over_the_page_is_opened_or_laid_under(hand):
    hand.drop("roach.toml", (DEMOS / "reedbed-roach-65.toml").read_bytes())
    hand.sheet("roach.toml").get_by_role("button", name="Open it").click()
    hand.page.get_by_role("heading", name="Reedbed roach 65").wait_for()
    assert hand.page.locator("#state").inner_text().startswith("not saved")


SAYS = "#under-says"
HOW_FAR = """() => {
    const [scan, body] = [".drawing-under path", ".drawing-lines path.drawing-outline"].map((where) => {
        const boxes = [...document.querySelectorAll(where)].map((one) => one.getBoundingClientRect());
        const end = (side, best) => best(...boxes.map((box) => box[side]));
        return [end("left", Math.min), end("right", Math.max), end("top", Math.min), end("bottom", Math.max)];
    });
    return Math.max(...scan.map((at, side) => Math.abs(at - body[side]))) / (body[1] - body[0]);
}"""


def test_a_scan_let_go_over_the_page_is_laid_over_the_bait_told_how_far_it_departs_and_taken_away(browser, server):
    hand = Hand(browser, server.address, "perch.toml")
    page = hand.page
    water = page.locator("#water canvas")
    before = water.screenshot()
    hand.drop("carved.stl", thicker(1.06))
    hand.sheet("carved.stl").get_by_role("button", name="Lay it over").click()
    page.locator(SAYS).get_by_text("carved.stl: 0.").wait_for()
    laid = page.locator(SAYS).inner_text()
    assert "too much at x = " in laid
    assert page.locator("#under > span").inner_text() == "Laid over it"
    assert water.screenshot() != before
    # 6 % deeper and thicker: 3 % of its sizes across at back, belly and flanks, 1 % of its length
    for view, words, share in (
        ("Side", "from the left", 0.02),
        ("Above", "from above", 0.02),
        ("Nose", "from the nose", 0.06),
        ("Cut across", "from the nose", 0.06),
    ):
        page.get_by_role("radio", name=view).check(force=True)
        page.locator(f'#drawing svg[aria-label$="{words}"]').wait_for()
        page.locator(".drawing-under path").nth(20 if view == "Cut across" else 0).wait_for(state="attached")
        assert page.evaluate(HOW_FAR) < share
    hand.put("shape.depth", "1 in")
    page.locator(SAYS).get_by_text("missing at x = ").wait_for()
    page.locator("#under-choice").select_option("")
    assert page.locator(".drawing-under path").count() == 0
    assert page.locator(SAYS).inner_text() == ""
    assert page.locator("#under > span").inner_text() == "Laid under it"
    page.locator("#under-choice").select_option("carved.stl")
    page.locator(".drawing-under path").first.wait_for(state="attached")
    page.reload()
    page.locator(".drawing-under path").first.wait_for(state="attached")
    page.locator(SAYS).get_by_text("missing at x = ").wait_for()
    hand.drop("no-number.stl", SPOILT["no-number.stl"])
    hand.sheet("no-number.stl").get_by_role("button", name="Lay it over").click()
    assert hand.sheet("no-number.stl was not read").locator(".told").inner_text()
    assert hand.said == []
    hand.close()


def test_an_empty_recipe_is_told_and_the_bait_stays(hand):
    name = hand.page.locator("#name").inner_text()
    hand.drop("nothing.toml", b" ")
    hand.page.locator("#told").get_by_text("nothing.toml is empty; nothing was opened.").wait_for()
    assert hand.page.locator("#name").inner_text() == name


def test_a_spoilt_file_is_told_on_a_sheet_and_the_bait_stays(hand):
    before = hand.page.locator("#name").inner_text()
    for name in ("words.jpg", "vast.png", "no-number.stl", "picture.stl", "header.csv"):
        hand.drop(name, SPOILT[name])
        if name.endswith((".jpg", ".png")):
            hand.sheet(name).get_by_role("button", name="Read it").click()
        if name.endswith(".stl"):
            hand.sheet(name).get_by_role("button", name="Trace it").click()
        told = hand.sheet(f"{name} was not read").locator(".told").inner_text()
        assert len(told.splitlines()) >= 2, "what is wrong, and what is accepted"
        hand.page.keyboard.press("Escape")
        assert hand.page.locator("#name").inner_text() == before
    hand.put("shape.thickness", "5/8 in")  # it answers on


def test_a_file_of_200_megabytes_is_not_sent_at_all(hand):
    hand.drop("vast.stl", bytes(MEGABYTE), times=200)
    hand.page.locator("#told").get_by_text("vast.stl is larger than 64 MB; nothing was read.").wait_for()
    hand.put("shape.thickness", "11/16 in")
