"""A photo, a scan, a table, a recipe: let go over the page, or chosen by the keyboard; and what is refused."""

import cv2
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
def hand(browser, server):
    one = Hand(browser, server.address, "perch.toml")
    yield one
    assert one.said == []
    one.close()


@pytest.fixture(scope="module")
def photo():
    """A bait on the printed page, 70 mm long and 15 mm thick."""
    return cv2.imencode(".png", pinhole.photograph(traced.plain(), Shot(seed=1))[..., ::-1])[1].tobytes()


def scan():
    """The perch's own body as a closed STL."""
    body = body_of(bodygen.read_recipe(DEMOS / "tarn-perch-70.toml"))
    mesh = fine(body, 0.02)
    return stl(mesh.vertices[mesh.faces])


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


def test_a_spoilt_file_is_told_on_a_sheet_and_the_bait_stays(hand):
    before = hand.page.locator("#name").inner_text()
    for name in ("words.jpg", "vast.png", "no-number.stl", "picture.stl", "header.csv"):
        hand.drop(name, SPOILT[name])
        if name.endswith((".jpg", ".png")):
            hand.sheet(name).get_by_role("button", name="Read it").click()
        told = hand.sheet(f"{name} was not read").locator(".told").inner_text()
        assert len(told.splitlines()) >= 2, "what is wrong, and what is accepted"
        hand.page.keyboard.press("Escape")
        assert hand.page.locator("#name").inner_text() == before
    hand.put("shape.thickness", "5/8 in")  # it answers on


def test_a_file_of_200_megabytes_is_not_sent_at_all(hand):
    hand.drop("vast.stl", bytes(MEGABYTE), times=200)
    hand.page.locator("#told").get_by_text("vast.stl is larger than 64 MB; nothing was read.").wait_for()
    hand.put("shape.thickness", "11/16 in")
