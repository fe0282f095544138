"""Nothing is lost: the server dies, the page is loaded anew, two tabs have one file, an old edit waits on the shelf."""

import os
import resource
import signal
import time
from itertools import pairwise

import pytest
from amount import only_with_more
from browsing import DEMOS, Hand, asks, need_browser, serving, settled
from tab import in_haste, own_address, workers

pytestmark = only_with_more
TEXT = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")


def folder_with_bait(place):
    place.mkdir()
    (place / "perch.toml").write_text(TEXT, encoding="utf-8")
    return place


def test_a_server_killed_in_mid_edit_loses_nothing_and_the_page_goes_on(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")
    page, state = hand.page, hand.page.locator("#state")
    hand.put("shape.depth", "13/16 in")
    own_server.kill()
    hand.field("shape.length").fill("2-7/8 in")
    page.locator("body[data-gone=true]").wait_for()
    assert "kept in this browser" in state.inner_text()
    assert hand.field("shape.length").input_value() == "2-7/8 in"
    hand.field("shape.thickness").fill("11/16 in")  # the hand goes on meanwhile
    hand.field("shape.thickness").press("Enter")
    page.wait_for_function("() => Object.values(localStorage).some((kept) => kept.includes('11/16 in'))")
    before = asks(page)
    own_server.start()
    settled(page, before)
    written = [hand.field(f"shape.{name}").input_value() for name in ("depth", "length", "thickness")]
    assert written == ["13/16 in", "2-7/8 in", "11/16 in"]
    page.keyboard.press("Control+s")
    page.get_by_text("saved: perch.toml", exact=True).wait_for()
    assert 'length = "2-7/8 in"' in (own_server.folder / "perch.toml").read_text()
    hand.close()


def test_a_page_that_nobody_touches_says_that_the_server_is_gone_and_that_it_is_back(browser, own_server):
    """It looks every 5 s, at a file of the page and not at the folder; not while something else is answered."""
    hand = Hand(browser, own_server.address, "perch.toml")
    page, looks = hand.page, []
    page.on("request", lambda request: looks.append((time.monotonic(), request)))
    settled(page)
    own_server.kill()
    page.locator("body[data-gone=true]").wait_for(timeout=15_000)
    own_server.start()
    page.locator("body[data-gone=false]").wait_for(timeout=15_000)
    page.get_by_text("The server is back.").wait_for()
    settled(page)
    looks.clear()
    page.wait_for_timeout(11_000)
    assert {(request.method, request.url.rpartition("/")[2]) for _, request in looks} == {("HEAD", "icon.svg")}
    assert all(later - before > 4 for (before, _), (later, _) in pairwise(looks)), (
        "5 s, less what a busy machine is late"
    )
    page.evaluate("Object.defineProperty(document, 'hidden', { get: () => true })")
    looks.clear()
    page.wait_for_timeout(11_000)
    assert looks == []
    hand.close()


def test_a_page_loaded_anew_has_every_edit_and_its_way_back(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")
    hand.put("shape.length", "3 in")
    hand.page.reload()
    settled(hand.page)
    assert hand.field("shape.length").input_value() == "3 in"
    hand.back()
    assert hand.field("shape.length").input_value() == "2-3/4 in"
    hand.close()


def test_saving_keeps_comments_and_asks_before_it_writes_over_a_changed_file(browser, own_server):
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    hand.put("bore[1].depth", "11/32 in")
    hand.page.keyboard.press("Control+s")
    hand.page.get_by_text("saved: perch.toml", exact=True).wait_for()
    text = file.read_text()
    assert 'depth = "11/32 in"' in text
    assert text.count("#") == (DEMOS / "tarn-perch-70.toml").read_text().count("#")
    file.write_text(text + "# by an editor\n")
    hand.put("bore[1].depth", "3/8 in")
    hand.page.keyboard.press("Control+s")
    question = hand.page.get_by_role("dialog", name="The file has changed")
    question.wait_for()
    assert file.read_text().endswith("# by an editor\n")
    question.get_by_role("button", name="Write mine over it").click()
    hand.page.get_by_text("saved: perch.toml", exact=True).wait_for()
    assert 'depth = "3/8 in"' in file.read_text()
    hand.close()


def test_what_an_editor_did_meanwhile_is_seen_by_who_comes_back_to_the_page(browser, own_server):
    """Without changes of its own the page takes it, one step back; else it says so; a file that is gone is told."""
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    page, told, before = hand.page, hand.page.locator("#told"), asks(hand.page)
    comes_back = "dispatchEvent(new Event('focus'))"
    file.write_text(TEXT.replace('length = "2-3/4 in"', 'length = "3 in"'), encoding="utf-8")
    page.evaluate(comes_back)
    told.get_by_text("perch.toml was changed by an editor; it is shown as it lies now.").wait_for()
    settled(page, before)
    assert hand.field("shape.length").input_value() == "3 in"
    assert page.locator("#state").inner_text() == "saved: perch.toml"
    hand.put("shape.depth", "13/16 in")
    file.write_text(TEXT, encoding="utf-8")
    page.evaluate(comes_back)
    told.get_by_text("What you changed here is kept; saving will ask.").wait_for()
    assert hand.field("shape.length").input_value() == "3 in"
    file.unlink()
    page.evaluate(comes_back)
    told.get_by_text("perch.toml is no longer in the folder").wait_for()
    page.keyboard.press("Control+s")
    hand.sheet("The file is gone").get_by_role("button", name="Write it anew").click()
    page.get_by_text("saved: perch.toml", exact=True).wait_for()
    assert 'depth = "13/16 in"' in file.read_text(encoding="utf-8")
    hand.close()


def test_a_file_that_is_no_recipe_any_more_is_told_in_the_first_band_and_can_be_mended_as_text(browser, own_server):
    (own_server.folder / "perch.toml").write_text(TEXT.replace("[wood]", "[wood"), encoding="utf-8")
    hand = Hand(browser, own_server.address)
    hand.page.locator("#sentence").get_by_text("not TOML").wait_for()
    assert hand.page.locator("#state").inner_text().endswith("is refused; As text shows it, to be mended there.")
    hand.page.get_by_role("button", name="As text").click()
    box = hand.page.get_by_role("textbox", name="the recipe as text")
    box.fill(" ")
    hand.page.get_by_role("button", name="Take it over").click()
    hand.page.get_by_text("There is no text to take over.").wait_for()
    box.fill(TEXT)
    hand.page.get_by_role("button", name="Take it over").click()
    hand.page.get_by_role("heading", name="Tarn perch 70", exact=True).wait_for()
    hand.close()


def test_two_tabs_with_one_file_lose_neither(browser, own_server):
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    other = hand.open(own_server.address, "perch.toml")
    other.locator("#told").get_by_text("open in another window").wait_for()
    hand.put("shape.length", "3 in")
    before = asks(other)
    other.locator('#bench [data-key="shape.depth"]').fill("13/16 in")
    other.locator('#bench [data-key="shape.depth"]').press("Enter")
    settled(other, before)
    other.keyboard.press("Control+s")
    other.get_by_text("saved: perch.toml", exact=True).wait_for()
    hand.page.locator("#told").get_by_text("was saved in another window").wait_for()
    assert hand.field("shape.length").input_value() == "3 in"
    hand.page.keyboard.press("Control+s")
    question = hand.page.get_by_role("dialog", name="The file has changed")
    question.get_by_role("button", name="Keep both").click()
    hand.page.get_by_role("dialog", name="Save as").get_by_role("button", name="Save").click()
    hand.page.get_by_text("saved: perch-2.toml", exact=True).wait_for()
    assert 'depth = "13/16 in"' in file.read_text()
    assert 'length = "2-3/4 in"' in file.read_text()
    assert 'length = "3 in"' in (own_server.folder / "perch-2.toml").read_text()
    hand.close()


def test_an_edit_of_a_tab_that_was_closed_waits_on_the_shelf(browser, own_server):
    hand = Hand(browser, own_server.address, "demo:reedbed-roach-65")
    hand.put("shape.length", "66 mm")
    hand.page.close()
    hand.page = hand.open(own_server.address, "perch.toml")
    hand.page.get_by_role("button", name="Shelf (1 not saved)").click()
    before = asks(hand.page)
    hand.page.get_by_role("dialog", name="The shelf").get_by_role("button", name="Reedbed roach 65").first.click()
    settled(hand.page, before)
    assert hand.field("shape.length").input_value() == "66 mm"
    hand.close()


def test_saving_a_new_one_never_takes_a_name_that_is_there(browser, own_server):
    hand = Hand(browser, own_server.address, "demo:tarn-perch-70")
    page = hand.page
    hand.put("shape.length", "3 in")
    page.keyboard.press("Control+s")
    sheet = page.get_by_role("dialog", name="Save as")
    sheet.get_by_role("textbox").fill("perch.toml")
    sheet.get_by_role("button", name="Save").click()
    page.get_by_role("dialog", name="The file has changed").get_by_text("There is a perch.toml already").wait_for()
    assert (own_server.folder / "perch.toml").read_text() == (DEMOS / "tarn-perch-70.toml").read_text()
    hand.close()


def test_on_a_full_disk_saving_says_so_and_the_edit_waits(browser, own_server):
    """The system refuses the server more than so many bytes a file: as on a disk without room."""
    file = own_server.folder / "perch.toml"
    hand = Hand(browser, own_server.address, "perch.toml")
    page, limit = hand.page, resource.getrlimit(resource.RLIMIT_FSIZE)
    hand.put("shape.length", "3 in")
    resource.prlimit(own_server.process.pid, resource.RLIMIT_FSIZE, (1000, limit[1]))
    page.keyboard.press("Control+s")
    page.locator("#told").get_by_text("perch.toml: the recipe was not written: File too large").wait_for()
    assert file.read_text(encoding="utf-8") == TEXT
    assert [path.name for path in own_server.folder.iterdir()] == ["perch.toml"]
    assert page.locator("#state").inner_text() == "not saved: perch.toml; kept in this browser"
    resource.prlimit(own_server.process.pid, resource.RLIMIT_FSIZE, limit)
    page.keyboard.press("Control+s")
    page.get_by_text("saved: perch.toml", exact=True).wait_for()
    assert 'length = "3 in"' in file.read_text(encoding="utf-8")
    hand.close()


def test_a_change_that_is_not_worked_out_yet_is_not_said_to_be_saved(browser, tmp_path):
    """And when it took too long that is told, and it is worked out after all."""
    need_browser()
    with serving(folder_with_bait(tmp_path / "baits"), program=in_haste(9)) as server:
        hand = Hand(browser, server.address, "perch.toml")
        page, told = hand.page, hand.page.locator("#told")
        page.wait_for_load_state("networkidle")  # what was asked about remedies would be given up first
        os.kill(workers(server.process)[0], signal.SIGSTOP)
        before = asks(page)
        hand.field("shape.length").fill("3 in")
        page.keyboard.press("Control+s")  # before a pause says that the hand has stopped typing
        told.get_by_text("Not saved: the last change is still being worked out").wait_for()
        assert (server.folder / "perch.toml").read_text(encoding="utf-8") == TEXT
        assert "not saved" in page.locator("#state").inner_text()
        told.get_by_text("it took longer than 9 s and was given up").wait_for()
        page.keyboard.press("Control+s")
        settled(page, before)
        page.keyboard.press("Control+s")
        page.get_by_text("saved: perch.toml", exact=True).wait_for()
        assert 'length = "3 in"' in (server.folder / "perch.toml").read_text(encoding="utf-8")
        hand.close()


def test_a_reading_that_is_still_being_typed_is_saved_and_kept_too(browser, own_server):
    hand = Hand(browser, own_server.address, "perch.toml")
    page = hand.page
    page.get_by_role("textbox", name="drilled: the scale read").press_sequentially("4.9")
    page.keyboard.press("Control+s")
    page.locator("#told").get_by_text("Saved in perch.toml.").wait_for()
    assert 'drilled = "4.9 g"' in (own_server.folder / "perch.toml").read_text(encoding="utf-8")
    page.get_by_role("textbox", name="painted: the scale read").press_sequentially("9.9")
    page.reload()
    settled(page)
    assert page.get_by_role("textbox", name="painted: the scale read").input_value() == "9.9 g"
    hand.close()


def test_from_another_machine_the_page_works_and_two_tabs_keep_apart(browser, tmp_path):
    """Over plain http from elsewhere a browser lends a page neither locks nor names that nobody else has."""
    need_browser()
    if own_address() is None:
        pytest.skip("this machine has no address but its own loopback")
    with serving(folder_with_bait(tmp_path / "baits"), "--host", own_address()) as server:
        hand = Hand(browser, server.address, "perch.toml")
        assert not hand.page.evaluate("isSecureContext")
        hand.put("shape.length", "3 in")
        with hand.context.expect_page() as opened:  # a tab that another one opens has a copy of its names
            hand.page.evaluate("open(location.href)")
        other = opened.value
        other.wait_for_function("() => document.querySelector('#state')?.textContent.startsWith('saved')")
        names = [page.evaluate("sessionStorage.getItem('bodygen/tab')") for page in (hand.page, other)]
        assert names[0] != names[1]
        other.close()
        hand.page.keyboard.press("Control+s")
        hand.page.get_by_text("saved: perch.toml", exact=True).wait_for()
        assert 'length = "3 in"' in (server.folder / "perch.toml").read_text(encoding="utf-8")
        hand.close()
