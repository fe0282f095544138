"""Orders that nobody means: another bait comes while one is saved, the browser is full, a sheet is closed too soon."""

from amount import only_with_more
from browsing import DEMOS, Hand, asks, settled

pytestmark = only_with_more
TEXT = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")


def shelf(hand, name):
    """Take another bait off the shelf."""
    hand.page.get_by_role("button", name="Shelf").click()
    hand.page.get_by_role("dialog", name="The shelf").get_by_role("button", name=name).first.click()


def saving_slowly(hand):
    """Begin to save, over a line that holds what is sent; it goes on when the route does."""
    held = []

    def hold(route):
        if held:
            route.continue_()
        held.append(route)

    hand.page.route("**/save", hold)
    hand.page.keyboard.press("Control+s")
    for _ in range(100):
        if held:
            break
        hand.page.wait_for_timeout(50)
    before = asks(hand.page)
    shelf(hand, "Reedbed roach 65")
    settled(hand.page, before)
    return held[0]


def test_a_bait_that_came_to_the_bench_while_another_was_being_saved_gets_nothing_of_its_file(browser, own_server):
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    hand.put("shape.length", "3 in")
    slow = saving_slowly(hand)
    slow.continue_()
    hand.page.locator("#told").get_by_text("Saved in perch.toml.").wait_for()
    assert 'length = "3 in"' in file.read_text(encoding="utf-8")
    assert hand.page.locator("#state").inner_text() == "a demo bait; nothing to save"
    assert hand.page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('bodygen/kept'))") == []
    hand.page.keyboard.press("Control+s")
    hand.sheet("Save as")
    hand.close()


def test_a_question_about_a_file_that_is_answered_over_another_bait_changes_only_what_it_is_about(browser, own_server):
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    hand.put("shape.length", "3 in")
    file.write_text(f"{TEXT}# by an editor\n", encoding="utf-8")
    slow = saving_slowly(hand)
    slow.continue_()
    hand.sheet("The file has changed").get_by_role("button", name="Take the file's").click()
    assert hand.page.locator("#state").inner_text() == "a demo bait; nothing to save"
    before = asks(hand.page)
    shelf(hand, "Tarn perch 70")
    settled(hand.page, before)
    assert hand.page.locator("#state").inner_text() == "not saved: perch.toml; kept in this browser"
    assert hand.field("shape.length").input_value() == "3 in"
    assert file.read_text(encoding="utf-8").endswith("# by an editor\n")
    hand.close()


FULL = """() => {
    let filling = "x".repeat(1 << 20);
    for (let number = 0; filling.length > 10; ) {
        try { localStorage.setItem(`full${number}`, filling); number += 1; }
        catch { filling = filling.slice(0, filling.length / 2); }
    }
}"""


def test_where_the_browser_has_no_room_it_says_so_and_asks_before_another_bait_comes(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")
    page = hand.page
    page.evaluate(FULL)
    hand.put("shape.length", "3 in")
    page.get_by_text("not saved: perch.toml; the browser has no room to keep it").wait_for()
    shelf(hand, "Reedbed roach 65")
    hand.sheet("These changes cannot be kept").get_by_role("button", name="Stay here").click()
    assert hand.field("shape.length").input_value() == "3 in"
    page.keyboard.press("Control+s")
    page.get_by_text("saved: perch.toml", exact=True).wait_for()
    before = asks(page)
    shelf(hand, "Reedbed roach 65")
    settled(page, before)
    assert page.locator("#state").inner_text() == "a demo bait; nothing to save"
    hand.close()


def test_text_that_was_not_taken_over_is_there_again(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")

    def text():
        hand.page.get_by_role("button", name="As text").click()
        return hand.sheet("The recipe as text").get_by_role("textbox")

    text().fill(f"{TEXT}# mine\n")
    hand.page.keyboard.press("Escape")
    assert text().input_value().endswith("# mine\n")
    hand.page.get_by_role("button", name="Take it over").click()
    hand.page.get_by_text("not saved: perch.toml").wait_for()
    assert text().input_value().endswith("# mine\n")
    hand.sheet("The recipe as text").get_by_text("still there").wait_for(state="detached")
    hand.close()
