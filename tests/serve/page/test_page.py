"""The page in a real browser: fields, tapes, one key back, what is refused, and what must not move."""

import pytest
from amount import only_with_more
from browsing import PERCH, Hand, asks, settled, violations


@pytest.fixture(scope="module")
def hand(browser, server):
    one = Hand(browser, server.address, PERCH)
    yield one
    one.close()


def test_a_field_takes_what_people_write_and_everything_follows(hand):
    weight = hand.page.locator("#scale li:last-child output")
    before = weight.inner_text()
    hand.put("shape.length", "3 in")
    assert hand.field("shape.length").input_value() == "3 in"
    assert weight.inner_text() != before
    assert "not saved" in hand.page.locator("#state").inner_text()
    hand.back()
    assert weight.inner_text() == before
    assert hand.field("shape.length").input_value() == "2-3/4 in"


def test_a_tape_goes_by_keys_and_by_hand_and_one_drag_is_one_step_back(hand):
    page, key = hand.page, "bore[1].x"
    field, tape = hand.field(key), hand.tape(key)
    tape.scroll_into_view_if_needed()
    box = tape.bounding_box()
    before, written = asks(page), field.input_value()
    page.mouse.move(box["x"] + 90, box["y"] + 10)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(box["x"] + 90 - 7 * step, box["y"] + 10)
    page.mouse.up()
    drawn = field.input_value()
    settled(page, before)
    assert drawn != written
    assert field.input_value() == drawn
    hand.back()
    assert field.input_value() == written
    before = asks(page)
    tape.press("ArrowUp")
    assert tape.get_attribute("aria-valuetext") == field.input_value() != written
    settled(page, before)  # else the whole answer to this may be taken for the one to the step back
    hand.back()


def test_what_is_not_understood_is_said_where_it_stands_and_nothing_is_blanked(hand):
    page, key = hand.page, "shape.depth"
    sentence = page.locator("#sentence").inner_text()
    hand.field(key).fill("7/8 furlongs")
    line = page.locator(f'[data-field="{key}"] .doubt')
    line.wait_for(state="visible")
    assert "length" in line.inner_text()
    assert hand.field(key).get_attribute("aria-invalid") == "true"
    assert page.locator("#sentence").inner_text() == sentence
    hand.back()
    # the whole answer to what was refused may still have been on its way, and settled the hand before its own
    page.wait_for_selector(f'[data-key="{key}"][aria-invalid="false"]')
    assert hand.field(key).input_value() == "7/8 in"


IN_VIEW = """() => [...document.querySelectorAll('.group > summary')].map((one) => {
    const { left, right, width } = one.getBoundingClientRect();
    return left >= 0 && right <= innerWidth && width > 20;
})"""


@only_with_more
@pytest.mark.parametrize("width", [1280, 1600, 1920, 2560])
def test_every_group_is_in_view_and_water_and_drawing_lie_side_by_side(browser, server, width):
    one = Hand(browser, server.address, PERCH, viewport={"width": width, "height": 9 * width // 16})
    page = one.page
    assert page.evaluate(IN_VIEW) == [True] * 7
    water, drawing = (page.locator(place).bounding_box() for place in ("#water", "#drawing"))
    assert water["y"] == drawing["y"]
    assert water["width"] == pytest.approx(drawing["width"], abs=2)
    last = page.locator(".group").last
    last.locator("> summary").click()
    assert last.get_attribute("open") is None or width < 2560
    one.close()


PLACES = """() => [
    ...document.querySelectorAll('#title, #water, #drawing, #words, #bench, #scale, .group, .field, #scale li')
].map((one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    return [x, y, width, height].map(Math.round).join(' ');
})"""


@only_with_more
def test_nothing_moves_when_numbers_change(hand):
    page = hand.page
    hand.field("shape.thickness").focus()
    places = page.evaluate(PLACES)
    hand.put("shape.thickness", "1-1/8 in")
    assert page.evaluate(PLACES) == places
    hand.back()


def test_a_reading_in_its_box_makes_everything_follow_the_board_in_hand(hand):
    page = hand.page
    box, rigged = page.locator("#weighed-drilled"), page.locator("#scale li:last-child output")
    before = rigged.inner_text()
    shown = asks(page)
    box.fill("4.9")
    box.press("Enter")
    settled(page, shown)
    assert rigged.inner_text() != before
    hand.back()
    assert rigged.inner_text() == before


@only_with_more
def test_the_page_is_quiet_and_without_barriers_as_it_opens(hand):
    hand.page.evaluate("document.querySelectorAll('.group').forEach((one) => { one.scrollTop = 0; })")
    assert violations(hand.page) == []
    assert hand.said == []


@only_with_more
def test_what_a_doubt_tells_to_do_is_what_this_page_has(hand):
    """On the terminal it names a command; here the button that does the same."""
    hand.put("bore[1].depth", "1/4 in")
    hand.page.locator("#doubts summary").click()
    told = hand.page.locator("#doubts").inner_text()
    assert "g: the button “Ballast” finds the bore" in told
    assert "bodygen ballast" not in told
    assert hand.page.get_by_role("button", name="Ballast", exact=True).count() == 1
    hand.page.locator("#doubts summary").click()
    hand.back()


@only_with_more
def test_a_doubt_is_mended_by_its_button_and_one_key_takes_the_mend_out_again(hand):
    """The drill leaves too little wood under the back: the button under the depth says what would do."""
    page, key = hand.page, "bore[1].depth"
    written = hand.field(key).input_value()
    hand.put(key, "3/4 in")
    page.locator("#doubts summary").click()
    mend = page.locator("#doubts button.mend", has_text="Set depth of ballast to").first
    mend.wait_for()
    doubt = mend.locator("..").locator("p").first.inner_text()
    shown, value = asks(page), mend.inner_text().rpartition(" to ")[2]
    mend.click()
    settled(page, shown)
    assert hand.field(key).input_value() == value
    assert page.evaluate("document.activeElement.dataset.key") == key
    assert doubt not in page.locator("#doubts").inner_text()
    hand.back()
    assert hand.field(key).input_value() == "3/4 in"
    hand.back()
    assert hand.field(key).input_value() == written


@only_with_more
def test_no_paint_in_all_of_an_answer_is_bare_wood_and_in_a_glance_what_was_before(hand):
    paint = """async want => {
        const { EMPTY, answered } = await import("./state.js");
        const state = { ...EMPTY, text: "a", answer: { paint: "as before" } };
        return answered(state, { want, paint: null }, { text: "a", changes: {} }).answer.paint;
    }"""
    assert [hand.page.evaluate(paint, want) for want in ("glance", "whole")] == ["as before", None]


@only_with_more
def test_a_reading_that_is_refused_is_told_at_its_box(hand):
    before = asks(hand.page)
    box = hand.page.get_by_role("textbox", name="drilled: the scale read")
    box.fill("4,9")
    box.press("Enter")
    hand.page.locator(".step-held").get_by_text("a comma in a number; write a decimal point.").wait_for()
    assert box.get_attribute("aria-invalid") == "true"
    hand.page.keyboard.press("Control+z")
    settled(hand.page, before)
    hand.page.locator(".step-held").get_by_text("the shaped body").wait_for()
    assert box.get_attribute("aria-invalid") == "false"


@only_with_more
def test_a_label_says_the_unit_of_its_tape_where_what_is_written_has_another(hand):
    field = hand.page.locator('[data-field="water.temperature"]')
    assert field.locator("input[type=text]").input_value() == "58 degF"
    assert field.locator(".unit").text_content() == "(degC)"


def test_a_caution_stands_at_the_step_that_it_is_for(hand):
    """By name in the group; in full, with the sentence that defers, behind it."""
    care = hand.page.locator('[data-group="metal"] > .cautions')
    assert "Lead" not in care.inner_text()
    before = asks(hand.page)
    hand.field("bore[1].fill.metal").select_option("lead_cast_slug")
    settled(hand.page, before)
    care.locator("summary").get_by_text("Take care: Lead: keep it out of mouths").click()
    assert "Gloves or washed hands" in care.inner_text()
    assert "Your local law and fire code" in care.inner_text()
    hand.back()
    assert "Lead" not in care.inner_text()
