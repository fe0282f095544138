"""The first second of a page: what is in sight comes first, and nothing moves; and a tape says where it goes on."""

import json

from amount import only_with_more
from browsing import HEARD, Hand, asks, settled

pytestmark = only_with_more

SEEN = """() => [...document.querySelectorAll("#title, #water, #drawing, #words, #bench, #scale")].map((band) => {
  const { x, y, width, height } = band.getBoundingClientRect();
  return [band.id, x, y, width, height];
})"""
ROWS = "() => document.querySelectorAll('#bench [data-field]').length"


def test_the_bands_stand_where_they_will_from_the_start_and_rows_out_of_sight_come_after(browser, server):
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.add_init_script(HEARD)
    page.add_init_script("""document.addEventListener("bodygen:shown", () => {
        window.rows ??= document.querySelectorAll("#bench [data-field]").length; });""")
    held = []

    def hold(route):
        held.append(route)

    page.route("**/ask", hold)
    page.goto(f"{server.address}#perch.toml")
    page.wait_for_function("() => document.querySelector('#offers button')")
    while not held:
        page.wait_for_timeout(20)
    before = page.evaluate(SEEN)
    assert page.locator("#water canvas").is_hidden()
    held[0].continue_()
    settled(page)
    assert page.evaluate(SEEN) == before
    assert page.locator("#water canvas").is_visible()
    assert 5 < page.evaluate("window.rows") < 80  # seventeen of 111 are in sight
    page.wait_for_function(f"() => ({ROWS})() > 110")
    context.close()


def test_a_tape_and_a_handle_say_what_comes_if_the_hand_goes_on(browser, server):
    hand = Hand(browser, server.address, "perch.toml")
    page, sent = hand.page, []
    page.on("request", lambda asked: sent.append(json.loads(asked.post_data)) if asked.url.endswith("/ask") else None)
    handle = page.locator('#drawing [data-key="lip.angle"]').first
    for key, press in (("bore[1].x", hand.tape("bore[1].x").press), ("lip.angle", handle.press)):
        for step in range(2):
            before = asks(page)
            press("ArrowUp")
            settled(page, before)
            if not step:
                foreseen = next(one for one in sent if one["want"] == "glance")["further"]
                sent.clear()
        assert foreseen == {key: next(one for one in sent if one["want"] == "glance")["changes"][key]}
        assert all(one["further"] == {} for one in sent if one["want"] == "whole")
        sent.clear()
    hand.close()
