"""The drawing's handles by keys, pointer and finger, and how it keeps still, in a browser."""

from typing import Any

import pytest
from amount import MORE

OUTLINE = "document.querySelector('.drawing-outline').getAttribute('d')"


def shown(opened: Any, **options: Any) -> Any:
    page = opened(reduced_motion="reduce", **options)
    page.evaluate("show('bait')")
    return page


def handle(page: Any, key: str) -> Any:
    return page.locator(f'[role=slider][data-key="{key}"]')


def middle(page: Any, key: str) -> tuple[float, float]:
    box = handle(page, key).locator(".drawing-mark").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def calls(page: Any) -> list[Any]:
    found: list[Any] = page.evaluate("calls.splice(0)")
    return found


def scale(page: Any) -> float:
    """Pixels to a millimetre, from the outline's 70 mm."""
    box = page.locator(".drawing-outline").bounding_box()
    return float(box["width"] / 70)


def test_arrows_move_a_handle_the_way_they_point_and_tell_its_key(opened: Any) -> None:
    page = shown(opened)
    handle(page, "bore[1].x").focus()
    page.keyboard.press("ArrowRight")
    assert calls(page) == [["bore[1].x", "1-9/64 in", False], ["bore[1].x", "1-9/64 in", True]]
    handle(page, "bore[1].depth").focus()
    page.keyboard.down("ArrowDown")  # the bore runs up from the belly, so less deep
    page.keyboard.down("ArrowDown")
    page.keyboard.up("ArrowDown")
    told = calls(page)
    assert [key for key, _, _ in told] == ["bore[1].depth"] * 3
    assert [text for _, text, _ in told] == ["23/64 in", "11/32 in", "11/32 in"]
    assert [final for _, _, final in told] == [False, False, True]


def test_shift_moves_finely_and_the_ends_are_the_bounds(opened: Any) -> None:
    page = shown(opened)
    handle(page, "lip.angle").focus()
    page.keyboard.press("Shift+ArrowRight")
    assert calls(page)[-1] == ["lip.angle", "40.05 deg", True]
    page.keyboard.press("Home")
    page.keyboard.press("ArrowLeft")  # no farther
    page.keyboard.press("End")
    assert [text for _, text, final in calls(page) if final] == ["0.0 deg", "90.0 deg"]


def test_a_handle_says_what_it_is_and_how_much(opened: Any) -> None:
    page = shown(opened)
    depth = handle(page, "bore[1].depth")
    told = {name: depth.get_attribute(f"aria-{name}") for name in ("label", "valuetext", "valuemin", "valuemax")}
    assert told == {"label": "ballast, depth", "valuetext": "3/8 in", "valuemin": "0.0625", "valuemax": "0.75"}
    assert depth.get_attribute("tabindex") == "0"
    depth.focus()
    assert "ballast, depth: 3/8 in" in page.locator("#drawing").inner_text()


def test_a_drag_tells_every_step_and_at_last_that_it_is_over(opened: Any) -> None:
    page = shown(opened)
    x, y = middle(page, "bore[1].x")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 5, y + 3)
    page.mouse.move(x + 5.08 * scale(page), y + 40)  # 0.2 in along; across does nothing
    assert handle(page, "bore[1].x").get_attribute("aria-valuetext") == "1-21/64 in"
    page.mouse.up()
    told = calls(page)
    assert {key for key, _, _ in told} == {"bore[1].x"}
    assert [final for _, _, final in told] == [False, False, True]
    assert told[-1][1] == "1-21/64 in"  # 1.325 to a 64th


def test_escape_gives_a_drag_up(opened: Any) -> None:
    page = shown(opened)
    x, y = middle(page, "bore[1].x")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y)
    page.keyboard.press("Escape")
    page.mouse.move(x + 60, y)
    page.mouse.up()
    assert calls(page)[-1] == ["bore[1].x", "1-1/8 in", True]
    assert middle(page, "bore[1].x") == pytest.approx((x, y), abs=0.2)


@pytest.mark.parametrize(("way", "key"), [((0, -25), "shape.back.points[2][2]"), ((25, 0), "shape.back.points[2][1]")])
def test_of_two_handles_at_one_place_the_first_move_chooses(opened: Any, way: tuple[int, int], key: str) -> None:
    page = shown(opened)
    x, y = middle(page, key)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + way[0] / 3, y + way[1] / 3)
    page.mouse.move(x + way[0], y + way[1])
    page.mouse.up()
    assert {told for told, _, _ in calls(page)} == {key}


@pytest.mark.parametrize(("touch", "least"), [(False, 24), (True, 44)])
def test_handles_are_large_enough_for_the_hand(opened: Any, touch: bool, least: int) -> None:
    # WCAG 2.2, 2.5.8 Target Size (Minimum): 24 CSS pixels; 2.5.5 (Enhanced): 44
    page = shown(opened, has_touch=touch, is_mobile=touch)
    boxes = [hit.bounding_box() for hit in page.locator(".drawing-hit").all()]
    assert len(boxes) == 5
    assert round(min(min(box["width"], box["height"]) for box in boxes), 2) >= least  # 32-bit numbers inside


def test_a_finger_moves_a_handle(opened: Any) -> None:
    page = shown(opened, has_touch=True, is_mobile=True)
    x, y = middle(page, "lip.angle")
    reach = {"x": x + 15, "y": y + 12}  # beside it, within its reach
    touch = page.context.new_cdp_session(page)
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [reach]})
    for i in range(1, 4):
        point = {"x": reach["x"] + 10 * i, "y": reach["y"] + 12 * i}
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.evaluate("frames(2)")
    told = calls(page)
    assert told[-1][0] == "lip.angle"
    assert told[-1][2] is True
    assert float(told[-1][1].split()[0]) > 45


def test_numbers_that_change_move_nothing_else(opened: Any) -> None:
    page = shown(opened)
    before = page.evaluate(OUTLINE)
    page.evaluate("show('bait', {'drawing.box': [-9, -16.5, 73, 12.2]})")  # a little more room needed
    assert page.evaluate(OUTLINE) == before
    page.evaluate("show('bait', {'drawing.box': [-9, -16.5, 140, 12.2]})")  # twice as long: it must move
    assert page.evaluate(OUTLINE) != before


def test_a_handle_stays_where_the_hand_left_it_until_the_answer_has_it(opened: Any) -> None:
    page = shown(opened)
    bore = handle(page, "bore[1].x")
    bore.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.evaluate("show('bait')")  # an older answer
    assert bore.get_attribute("aria-valuetext") == "1-3/16 in"
    assert page.evaluate("document.activeElement.dataset.key") == "bore[1].x"
    page.evaluate("show('bait', {'drawing.handles.0.number': 1.1875, 'drawing.handles.0.text': '1.1875 in'})")
    assert bore.get_attribute("aria-valuetext") == "1.1875 in"


def test_a_second_bait_lies_under_the_first_in_pale_ink(opened: Any) -> None:
    page = shown(opened)
    page.evaluate("""async () => { const { readMessage } = await import("/water/message.js");
        const under = readMessage(await (await fetch("/answers/bait")).arrayBuffer());
        await show("bait", {}, { under: { name: "Other", answer: under } }); }""")
    assert page.locator(".drawing-under .drawing-outline").count() == 1
    page.evaluate("show('bait')")
    assert page.locator(".drawing-under path").count() == 0


def test_the_views_are_one_choice_and_the_cut_has_a_place(opened: Any) -> None:
    page = shown(opened)
    where = page.get_by_label("Place of the cut, from the nose")
    assert not where.is_visible()
    page.get_by_label("Above").check()
    page.get_by_label("Cut across").check()
    where.fill("20.5")
    assert calls(page) == [
        {"view": "plan"},
        {"view": "section", "section_x_mm": 50},
        {"view": "section", "section_x_mm": 20.5},
    ]


@pytest.mark.parametrize("width", [390, 768, 1280, 1920, 2560] if MORE else [390, 2560])
def test_figures_of_the_rulers_stand_clear_of_each_other(opened: Any, width: int) -> None:
    page = shown(opened, viewport={"width": width, "height": 800})
    boxes = page.evaluate("""() => [...document.querySelectorAll(".drawing-rulers text")].map((text) => {
        const { x, y, width, height } = text.getBoundingClientRect(); return { x, y, width, height }; })""")
    assert len(boxes) > 4
    for i, a in enumerate(boxes):
        assert a["x"] >= 0
        assert a["x"] + a["width"] <= width
        for b in boxes[:i]:
            apart = a["x"] >= b["x"] + b["width"] or b["x"] >= a["x"] + a["width"]
            assert apart or a["y"] >= b["y"] + b["height"] or b["y"] >= a["y"] + a["height"]


WRITTEN = [
    (1.140625, "in", 1 / 64, "1-9/64 in"),
    (0.375, "in", 1 / 64, "3/8 in"),
    (-0.25, "in", 1 / 64, "-1/4 in"),
    (2, "in", 1 / 64, "2 in"),
    (0, "in", 1 / 64, "0 in"),
    (1.1266, "in", 1 / 640, "1.127 in"),
    (28.6, "mm", 0.1, "28.6 mm"),
    (-0.04, "mm", 0.1, "0.0 mm"),
    (40, "deg", 0.5, "40.0 deg"),
    (0.52, "", 0.01, "0.52"),
]


def test_numbers_are_written_as_on_the_bench(opened: Any) -> None:
    asked = """async (all) => { const { written } = await import('/drawing/numbers.js');
        return all.map(([number, unit, step]) => written(number, unit, step)); }"""
    assert opened(reduced_motion="reduce").evaluate(asked, WRITTEN) == [text for *_, text in WRITTEN]
