"""At every width, on white paper and on black: nothing is too wide, cut off, over another thing, or jumps."""

import pytest
from amount import only_with_more
from browsing import PERCH, Hand

pytestmark = only_with_more
WIDTHS = (390, 768, 1000, 1280, 1920, 2560)
THEMES = ("light", "dark")
LEAST_PX = 24
"""Of what a finger meets: WCAG 2.2, success criterion 2.5.8, target size (minimum)."""
SEEN = """
const seen = (one) => one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length > 0;
const told = (one) => `${one.tagName} ${one.className} ${one.textContent.slice(0, 40)}`;
"""
CUT_OFF = f"""() => {{ {SEEN}
    const own = (one) => [...one.childNodes].some((part) => part.nodeType === 3 && part.data.trim());
    const cut = (one) => getComputedStyle(one).overflowX !== "visible" && one.scrollWidth > one.clientWidth + 1;
    const whole = (one) => one.closest("summary") || one.closest("[title]")?.title.includes(one.textContent);
    return [...document.querySelectorAll("body *:not(option)")]
        .filter((one) => own(one) && seen(one) && cut(one) && !whole(one) && !one.closest(".unseen")).map(told);
}}"""
OVER = f"""() => {{ {SEEN}
    const found = [];
    const apart = (rows) => {{
        const boxes = rows.filter(seen).map((one) => [one, one.getBoundingClientRect()]);
        boxes.forEach(([one, a], index) => boxes.slice(index + 1).forEach(([other, b]) => {{
            const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
            const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
            if (wide > 1 && high > 1) found.push(`${{told(one)}} / ${{told(other)}}`);
        }}));
    }};
    apart([...document.querySelectorAll(".field")]);
    apart([...document.querySelectorAll("#title > *, #afloat, #words > *")]);
    for (const one of document.querySelectorAll(".field, #scale li, #tools, #offers")) apart([...one.children]);
    return found;
}}"""
SMALL = f"""(least) => {{ {SEEN}
    return [...document.querySelectorAll("button, a, select, summary, input:not([type=range]), .ruler")]
        .filter((one) => seen(one) && !one.matches(".skip"))
        .filter((one) => Math.min(one.getBoundingClientRect().width, one.getBoundingClientRect().height) < least - 0.5)
        .map(told);
}}"""
PLACES = """() => Object.fromEntries([
    ...document.querySelectorAll("#title > *, #water, #drawing, #words > *, .group, .group > *, [data-field]"),
    ...document.querySelectorAll("#scale li"),
].filter((one) => one.checkVisibility()).map((one, index) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    const name = one.dataset.field ?? `${one.tagName} ${one.id || one.className} ${index}`;
    return [name, [x, y, width, height].map(Math.round).join(" ")];
}))"""


@pytest.fixture(scope="module")
def hand(browser, server):
    one = Hand(browser, server.address, PERCH, has_touch=True)
    one.put("shape.depth", "5/8 in")  # with doubts
    yield one
    one.close()


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_too_wide_cut_off_or_over_another(hand, width, theme):
    page = hand.page
    page.emulate_media(color_scheme=theme)
    page.set_viewport_size({"width": width, "height": 900})
    page.wait_for_timeout(100)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(CUT_OFF) == []
    assert page.evaluate(OVER) == []
    if width == min(WIDTHS):
        assert page.evaluate(SMALL, LEAST_PX) == []


@pytest.mark.parametrize("width", [390, 1280, 2560])
def test_nothing_jumps_when_a_number_brings_doubts_or_is_not_understood(hand, width):
    page = hand.page
    page.set_viewport_size({"width": width, "height": 900})
    page.locator('[data-group="body"]').evaluate("one => { one.open = true; }")
    for text in ("3/4 in", "7/8 in"):
        hand.put("shape.depth", text)
    hand.field("shape.depth").focus()
    places = page.evaluate(PLACES)
    hand.put("shape.depth", "5/8 in")
    assert changed(places, page.evaluate(PLACES)) == {}
    hand.put("shape.depth", "1 in")
    assert changed(places, page.evaluate(PLACES)) == {}
    hand.field("shape.depth").fill("a thumb")
    page.locator('[data-field="shape.depth"] .doubt').wait_for(state="visible")
    assert changed(places, page.evaluate(PLACES)) == {}
    hand.back()


def test_nothing_jumps_when_the_server_is_gone(browser, server):
    hand = Hand(browser, server.address, PERCH)
    hand.field("shape.length").focus()
    places = hand.page.evaluate(PLACES)
    hand.context.set_offline(True)
    hand.field("shape.length").fill("2-7/8 in")
    hand.page.locator("body[data-gone=true]").wait_for()
    assert changed(places, hand.page.evaluate(PLACES)) == {}
    hand.close()


def changed(before, after):
    return {name: (box, after.get(name)) for name, box in before.items() if after.get(name) != box}
