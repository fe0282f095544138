"""Things put in and taken out, each one step back; what is saved keeps the comments and the order of the recipe."""

import shutil

import pytest
from amount import only_with_more
from browsing import DEMOS, Hand, asks, settled

import bodygen
from bodygen.tables import load

pytestmark = only_with_more
TEXT = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")


@pytest.fixture
def hand(browser, own_server):
    one = Hand(browser, own_server.address, "perch.toml")
    one.page.locator('[data-group="finish"] > summary').click()  # a strip, as there is no room for all seven
    yield one
    assert one.said == []
    one.close()


def press(hand, name):
    """A button of the bench, and all of the answer."""
    before = asks(hand.page)
    hand.page.locator("#bench").get_by_role("button", name=name, exact=True).first.click()
    settled(hand.page, before)


def kinds(hand, table):
    """How many of a table have fields on the bench."""
    keys = hand.page.locator(f'#bench [data-key^="{table}["]').evaluate_all("all => all.map(one => one.dataset.key)")
    return len({key.split(".")[0] for key in keys})


def saved(hand, server):
    hand.page.keyboard.press("Control+s")
    hand.page.get_by_text("saved: perch.toml", exact=True).wait_for()
    return (server.folder / "perch.toml").read_text(encoding="utf-8")


def comments(text):
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def test_another_bore_fitting_and_coat_go_in_and_out_and_back(hand, own_server):
    recipe = bodygen.read_recipe(own_server.folder / "perch.toml")
    counts = {"bore": len(recipe.bores), "fitting": len(recipe.fittings), "coat": len(recipe.coats)}
    assert {table: kinds(hand, table) for table in counts} == counts
    weight = hand.page.locator("#scale li:last-child output")
    weights = [weight.inner_text()]
    words = {"bore": "Another bore for metal", "fitting": "Another fitting", "coat": "Another coat"}
    for table, button in words.items():
        press(hand, button)
        assert kinds(hand, table) == counts[table] + 1
        weights.append(weight.inner_text())
    assert len(set(weights)) == 4, "each of them weighs something"
    for expected in reversed(weights[:-1]):
        hand.back()
        assert weight.inner_text() == expected
    assert {table: kinds(hand, table) for table in counts} == counts
    for expected in weights[1:]:
        before = asks(hand.page)
        hand.page.keyboard.press("Control+Shift+Z")
        settled(hand.page, before)
        assert weight.inner_text() == expected
    text = saved(hand, own_server)
    recipe = bodygen.read_recipe(own_server.folder / "perch.toml")
    assert [len(recipe.bores), len(recipe.fittings), len(recipe.coats)] == [count + 1 for count in counts.values()]
    assert comments(text) == comments(TEXT)
    lines = iter(text.splitlines())
    assert all(line in lines for line in TEXT.splitlines()), "every line of before is there, in the order of before"


def test_one_in_the_middle_goes_out_and_comes_back_where_it_was(hand, own_server):
    assert hand.field("bore[5].x").input_value() == "0.42 in"
    press(hand, "take out ballast")
    assert hand.field("bore[4].x").input_value() == "0.42 in"
    assert kinds(hand, "bore") == 4
    hand.put("bore[4].x", "0.44 in")
    hand.back()
    hand.back()
    assert (kinds(hand, "bore"), hand.field("bore[1].depth").input_value()) == (5, "3/8 in")
    assert hand.field("bore[5].x").input_value() == "0.42 in"
    assert hand.page.locator("#state").inner_text() == "saved: perch.toml", "as it lies in the file, to the letter"


def test_a_bore_that_something_sits_on_is_told_to_be_missed(hand, own_server):
    hand.page.locator("#bench").get_by_role("button", name="take out belly hanger", exact=True).click()
    told = hand.page.locator(".all-doubts > summary")
    hand.page.wait_for_function("() => document.querySelector('.all-doubts').dataset.severity === 'error'")
    assert "refused" in told.inner_text()
    told.click()
    assert "belly hanger" in hand.page.locator(".all-doubts .told").first.inner_text()
    hand.page.keyboard.press("Control+s")
    hand.page.locator("#told").get_by_text("Not saved: a value is refused").wait_for()
    assert (own_server.folder / "perch.toml").read_text(encoding="utf-8") == TEXT
    hand.back()
    assert kinds(hand, "bore") == 5


def test_a_lip_goes_into_a_bait_without_one_by_a_button_and_out_again(browser, own_server):
    shutil.copy(DEMOS / "beck-dace-80.toml", own_server.folder / "dace.toml")
    shutil.copy(DEMOS / "beck-dace-80.csv", own_server.folder)
    hand = Hand(browser, own_server.address, "dace.toml", viewport={"width": 390, "height": 900})
    hand.page.locator('[data-group="lip"] > summary').click()
    assert hand.page.get_by_role("button", name="take out lip", exact=True).count() == 0
    press(hand, "A lip")
    assert hand.field("lip.sheet").input_value() == "polycarbonate"
    assert hand.page.locator(".all-doubts").get_attribute("data-severity") != "error"
    assert hand.page.get_by_role("button", name="A lip", exact=True).count() == 0
    press(hand, "take out lip")
    assert hand.field("lip.sheet").input_value() == ""
    hand.back()
    hand.back()
    assert hand.page.locator("#state").inner_text() == "saved: dace.toml"
    hand.close()


def test_a_doubt_says_beside_its_value_what_is_wrong_and_by_how_much(hand):
    """In the words of `bodygen check`; unfolded, what is meant by them, what to do, and whose rule it is."""
    line = hand.page.locator('#bench [data-field="lip.bend.angle"] .doubt')
    assert line.locator("summary").inner_text() == "Note: lip-bend-flat 6 deg (limit 0 deg)"
    line.locator("summary").evaluate("one => one.click()")
    told = line.locator(".finding p").all_inner_texts()
    assert told[1] == load("findings")["finding"]["lip-bend-flat"]["what"]
    assert told[2].startswith("mass and flotation take the plate as flat")
    assert told[3] == "[common practice, no published source]"
