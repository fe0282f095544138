"""What would do it, put in and taken back; and what scale and tub said, in the log that the command line reads."""

import re

import pytest
from amount import only_with_more
from browsing import DEMOS, Hand, asks, settled

from bodygen.cli import main

pytestmark = only_with_more
TEXT = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")


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


def test_of_two_depths_both_are_asked_for(hand):
    hand.page.get_by_role("button", name="Depth", exact=True).click()
    sheet = hand.sheet("Depth: offers")
    sheet.get_by_role("textbox", name="From").fill("4 ft")
    sheet.get_by_role("button", name="What would do it?").click()
    sheet.locator(".said").get_by_text("To: say both, from and to.").wait_for()
    hand.page.keyboard.press("Escape")


def test_without_a_build_in_the_log_the_sheet_says_which_box_begins_one(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")
    sheet = booked(hand, {"Remark": "first go"})
    sheet.get_by_role("button", name="Write it down").click()
    sheet.locator(".said").get_by_text("say in “A new build of this board” which board it is").wait_for()
    assert "--" not in sheet.locator(".said").inner_text(), "no option of the command line"
    hand.close()


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


@pytest.mark.parametrize("kind", ["Ballast", "Tub"])
def test_where_nothing_is_asked_for_the_sheet_leads_to_the_goal(kind, browser, own_server):
    goal = re.compile(r"^\[goal\].*\n(?:.+\n)*", re.MULTILINE)
    (own_server.folder / "perch.toml").write_text(goal.sub("", TEXT), encoding="utf-8")
    hand = Hand(browser, own_server.address, "perch.toml")
    hand.page.get_by_role("button", name=kind, exact=True).click()
    sheet = hand.sheet(f"{kind}: offers")
    sheet.get_by_role("button", name="What would do it?").click()
    sheet.get_by_text("nothing is asked for. Say it in Tub, goal").wait_for()
    assert "--" not in sheet.locator(".said").inner_text(), "no option of the command line"
    sheet.get_by_role("button", name="Show goal").click()
    assert hand.page.evaluate("document.activeElement.dataset.key") == "goal.float"
    assert hand.page.locator('[data-group="tub"]').get_attribute("open") is not None
    hand.close()


@pytest.mark.parametrize(
    ("bait", "said"),
    [
        ("perch.toml", ["52 degF", "7 ft", "0.011 in", "65 ft", "2.5 mph", "3 ft"]),
        ("demo:reedbed-roach-65", ["11 degC", "2.1 m", "0.28 mm", "20 m", "1.2 m/s", "1 m"]),
    ],
)
def test_the_log_shows_how_to_write_in_the_recipes_own_units(bait, said, browser, server):
    hand = Hand(browser, server.address, bait)
    names = ("water", "depth", "line", "line_out", "speed", "tip")
    sheet = booked(hand, {})
    assert [sheet.locator(f'[name="{name}"]').get_attribute("placeholder") for name in names] == said
    hand.close()


@pytest.mark.parametrize("width", [390, 768])
def test_no_figure_of_the_scale_touches_its_columns_edge(width, browser, server):
    hand = Hand(browser, server.address, "perch.toml", viewport={"width": width, "height": 900})
    room = "all => all.map(one => one.closest('li').getBoundingClientRect().right - one.getBoundingClientRect().right)"
    assert min(hand.page.locator("#scale .tolerance").evaluate_all(room)) >= 8, "its padding [px]"
    hand.close()
