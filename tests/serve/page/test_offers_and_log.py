"""What would do it, put in and taken back; and what scale and tub said, in the log that the command line reads."""

import re

import pytest
from amount import only_with_more
from browsing import DEMOS, Hand, asks, settled

from bodygen.cli import main

pytestmark = only_with_more
TEXT = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def hand(browser, server):
    one = Hand(browser, server.address, "perch.toml")
    yield one
    assert one.said == []
    one.close()


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("Ballast", {"To spare": "2 g"}),
        ("Depth", {"From": "4 ft", "To": "5 ft"}),
        ("Lip", {"From": "4 ft", "To": "5 ft"}),
        ("Tub", {"Nose": "3 deg"}),
    ],
)
def test_an_offer_is_put_in_and_one_step_back_takes_it_out(hand, kind, said):
    page = hand.page
    page.get_by_role("button", name=kind, exact=True).click()
    sheet = page.get_by_role("dialog", name=f"{kind}: offers")
    for name, value in said.items():
        sheet.get_by_role("textbox", name=re.compile(f"^{name}")).fill(value)
    sheet.get_by_role("button", name="What would do it?").click()
    first = sheet.get_by_role("button", name="Put it in").first
    first.wait_for()
    before = asks(page)
    first.click()
    settled(page, before)
    assert page.locator("#state").inner_text() == "not saved: perch.toml; kept in this browser"
    assert page.locator("#told").inner_text().startswith("Put in: ")
    hand.back()
    assert page.locator("#state").inner_text() == "saved: perch.toml"


def test_what_is_asked_for_in_words_nobody_knows_is_told_on_the_sheet(hand):
    hand.page.get_by_role("button", name="Ballast", exact=True).click()
    sheet = hand.page.get_by_role("dialog", name="Ballast: offers")
    sheet.get_by_role("textbox", name="To spare").fill("three spoons")
    sheet.get_by_role("button", name="What would do it?").click()
    sheet.locator(".said").get_by_text("three spoons").wait_for()
    assert len(sheet.locator(".said").inner_text().splitlines()) == 2, "what is wrong, and what is accepted"
    hand.page.keyboard.press("Escape")


def booked(hand, said):
    hand.page.get_by_role("button", name="Bench log").click()
    sheet = hand.sheet("Into the bench log")
    for name, value in said.items():
        sheet.get_by_role("textbox", name=name).fill(value)
    return sheet


def test_readings_of_scale_and_tub_lie_in_the_log_that_the_command_reads(hand, server, capsys):
    for stage, mass in (("drilled", "4.9"), ("painted", "9.9 g")):
        before = asks(hand.page)
        box = hand.page.get_by_role("textbox", name=f"{stage}: the scale read")
        box.fill(mass)
        box.press("Enter")
        settled(hand.page, before)
    sheet = booked(hand, {"A new build of this board": "pale board", "Nose up at rest": "7 deg", "Remark": "second go"})
    sheet.get_by_role("combobox").select_option("floats")
    sheet.get_by_role("textbox", name="Water", exact=True).fill("12 degC")
    sheet.get_by_role("textbox", name="Still carries").fill("2.2 g")
    sheet.get_by_role("button", name="Write it down").click()
    sheet.locator(".said").get_by_text("drilled weighed 4.90 g").wait_for()
    hand.page.keyboard.press("Escape")
    hand.back()
    hand.back()
    assert main(["log", str(server.folder / "perch.toml")]) == 0
    told = capsys.readouterr().out
    for words in ("pale board", "4.90", "9.90", "floats", "second go"):
        assert words in told


def test_readings_that_are_no_readings_are_told_and_nothing_is_written(hand, server, capsys):
    main(["log", str(server.folder / "perch.toml")])
    before = capsys.readouterr().out
    sheet = booked(hand, {"Still carries": "a bit", "Remark": "not to be kept"})
    sheet.get_by_role("combobox").select_option("floats")
    sheet.get_by_role("button", name="Write it down").click()
    sheet.locator(".said").get_by_text("a bit").wait_for()
    hand.page.keyboard.press("Escape")
    main(["log", str(server.folder / "perch.toml")])
    assert capsys.readouterr().out == before


def test_a_bait_without_a_file_is_asked_to_be_saved_before_its_log(browser, server):
    hand = Hand(browser, server.address, "demo:reedbed-roach-65")
    booked(hand, {"Remark": "a demo"}).get_by_role("button", name="Write it down").click()
    hand.page.get_by_role("dialog").get_by_text("save it first, as the log lies beside it").wait_for()
    hand.close()
