"""For every hand: no barriers in any state of the page, in ink on paper and on black; the whole job by the keyboard."""

from io import BytesIO
from pathlib import Path

import pdfplumber
import pytest
from amount import only_with_more
from browsing import PERCH, Hand, asks, need_browser, serving, settled, violations
from spoilt import SPOILT

from bodygen.tables import load

pytestmark = only_with_more
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


def shelf(hand):
    hand.page.get_by_role("button", name="Shelf").click()
    hand.page.get_by_role("dialog", name="The shelf").wait_for()


def doubts(hand):
    hand.page.locator(".all-doubts > summary").click()
    hand.page.locator(".doubt:not([hidden]) > summary").first.click()


def refused(hand):
    hand.field("shape.depth").fill("7/8 furlongs")
    hand.page.locator('[data-field="shape.depth"] .doubt').wait_for(state="visible")


def dragging(hand):
    tape = hand.tape("shape.length")
    box = tape.bounding_box()
    hand.page.mouse.move(box["x"] + 60, box["y"] + 8)
    hand.page.mouse.down()
    hand.page.mouse.move(box["x"] + 30, box["y"] + 8, steps=5)


def offer(hand):
    hand.page.get_by_role("button", name="Ballast", exact=True).click()
    hand.page.get_by_role("button", name="What would do it?").click()
    hand.page.locator(".offers button").first.wait_for()


def dive(hand):
    hand.page.get_by_role("button", name="Depth").click()
    hand.page.get_by_role("dialog", name="Depth: offers").wait_for()


def log(hand):
    hand.page.get_by_role("button", name="Bench log").click()
    hand.page.get_by_role("dialog", name="Into the bench log").wait_for()


def text(hand):
    hand.page.get_by_role("button", name="As text").click()


def photo(hand):
    hand.drop("words.jpg", SPOILT["words.jpg"])
    hand.sheet("words.jpg")


def scan(hand):
    hand.drop("empty.stl", SPOILT["empty.stl"])
    hand.sheet("empty.stl")


def not_read(hand):
    scan(hand)
    hand.sheet("empty.stl").get_by_role("button", name="Trace it").click()
    hand.sheet("empty.stl was not read")


def offline(hand):
    hand.context.set_offline(True)  # the browser's own way to lose a server
    hand.field("shape.length").fill("2-7/8 in")
    hand.page.locator("body[data-gone=true]").wait_for()


STATES = {"demo": None, "empty": shelf, "doubts": doubts, "refused": refused, "dragging": dragging, "offer": offer}
STATES |= {"dive": dive, "log": log, "text": text, "offline": offline, "phone": None, "phone offer": dive}
STATES |= {"photo": photo, "scan": scan, "not read": not_read, "phone shelf": shelf}


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A server on a folder without a recipe."""
    need_browser()
    with serving(tmp_path_factory.mktemp("nothing")) as one:
        yield one


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("state", STATES)
def test_no_state_of_the_page_has_a_barrier(browser, server, state, theme, request):
    size = PHONE if state.startswith("phone") else {}
    at, bait = (request.getfixturevalue("empty"), "") if state == "empty" else (server, PERCH)
    hand = Hand(browser, at.address, bait, color_scheme=theme, **size)
    if STATES[state]:
        STATES[state](hand)
    assert violations(hand.page) == []
    hand.close()


def tab_to(page, name, role="button"):
    """Go there by the Tab key alone."""
    wanted = page.get_by_role(role, name=name, exact=True)
    for _ in range(400):
        page.keyboard.press("Tab")
        if wanted.count() and wanted.first.evaluate("one => one === document.activeElement"):
            return
    pytest.fail(f"Tab never comes to {role} {name}")


def test_the_whole_job_goes_by_the_keyboard_alone(browser, server):
    hand = Hand(browser, server.address, PERCH)
    page = hand.page
    tab_to(page, "Shelf")
    page.keyboard.press("Enter")
    tab_to(page, "Name", "textbox")
    page.keyboard.type("Evening bleak")
    before = asks(page)
    page.keyboard.press("Enter")
    settled(page, before)
    assert page.locator("#name").inner_text() == "Evening bleak"
    tab_to(page, "length", "textbox")
    before = asks(page)
    page.keyboard.press("Control+a")
    page.keyboard.type("72 mm")
    page.keyboard.press("Enter")
    settled(page, before)
    page.keyboard.press("Shift+Tab")
    tab_to(page, "Ballast")
    page.keyboard.press("Enter")
    page.keyboard.type("2 g")  # the first box has the focus
    page.keyboard.press("Enter")
    page.locator(".offers button").first.wait_for()
    before = asks(page)
    page.keyboard.press("Enter")  # the first offer has the focus
    settled(page, before)
    tab_to(page, "Files")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")  # the button that makes them has the focus
    page.locator(".files a").first.wait_for(timeout=300_000)
    focused = page.evaluate("document.activeElement.textContent")
    assert focused.startswith("bench-card")
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    assert download.value.suggested_filename == "bench-card-a4.pdf"
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")
    assert page.locator(".cautions").count() > 0
    hand.close()


@pytest.mark.parametrize("width", [390, 768, 1280, 1600, 2560])
def test_nothing_is_wider_than_the_screen(browser, server, width):
    hand = Hand(browser, server.address, PERCH, viewport={"width": width, "height": 900})
    assert hand.page.evaluate("document.documentElement.scrollWidth") <= width
    hand.close()


def test_on_a_phone_one_group_is_open_at_a_time(browser, server):
    hand = Hand(browser, server.address, PERCH, **PHONE)
    opened = hand.page.locator("#bench > details[open]")
    assert opened.count() == 1
    hand.page.locator('[data-group="lip"] > summary').click()
    assert opened.count() == 1
    assert opened.get_attribute("data-group") == "lip"
    hand.close()


@pytest.mark.parametrize(("paper", "bait"), [("A4", PERCH), ("Letter", PERCH), ("Letter", "demo:fell-reed-110")])
def test_on_paper_it_is_the_bait_its_sentences_and_the_boxes(paper, bait, browser, server):
    hand = Hand(browser, server.address, bait)
    hand.page.emulate_media(media="print")
    seen = {
        name: hand.page.locator(f"#{name}").is_visible()
        for name in ("name", "drawing", "scale", "card", "bench", "tools")
    }
    assert seen == {"name": True, "drawing": True, "scale": True, "card": True, "bench": False, "tools": False}
    said = [*hand.page.locator("#scale li .what").all_inner_texts(), hand.page.locator("#sentence").inner_text()]
    with pdfplumber.open(BytesIO(hand.page.pdf(format=paper))) as printed:
        (sheet,) = printed.pages
        words = "".join(sheet.extract_text().split())
        beyond = [one for one in sheet.chars if not 0 < one["x0"] < one["x1"] < sheet.width]
    assert beyond == []
    missing = [text for text in said if not all(word in words for word in text.split())]
    assert missing == []
    assert "scaleread" not in words, "the boxes are empty, to be written in"
    assert "Takecare:Blades,bitsandbelts;" in words
    assert "".join(load("cautions")["defer"]["text"].split()) in words
    hand.close()
