"""The bait in the water as a browser shows it: pixels, swings against closed forms, and what it does without WebGL."""

import io
from math import exp, pi, sqrt
from typing import Any

import numpy as np
import pytest
from amount import MORE, only_with_more

POSE = "document.getElementById('water').pose"
FRAMES = "document.getElementById('water').frames"


def pixels(page: Any) -> Any:
    """The water's picture as shown (rows, columns, 3)."""
    image = pytest.importorskip("PIL.Image")
    shot = page.locator("#water > canvas").screenshot()
    return np.asarray(image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


@pytest.mark.parametrize("theme", ["light", "dark"] if MORE else ["light"])
def test_the_canvas_shows_bait_ink_and_water(opened: Any, theme: str) -> None:
    page = opened(color_scheme=theme, reduced_motion="reduce")
    page.evaluate("show('bait')")
    page.evaluate("rested()")
    shown = pixels(page)
    paper, ink = (0xFF, 0x11) if theme == "light" else (0x10, 0xF1)  # of ink.css
    middle = shown[120:230, 200:500]
    red, green, blue = np.moveaxis(middle, -1, 0)
    painted = (red - blue > 25) & (green - blue > 20)  # of #bdb76b, wet or dry, in light or shade
    assert painted.mean() > 0.2
    assert (np.abs(shown - paper).sum(axis=-1) > 12).mean() > 0.3  # the water's wash, and all that lies in it
    assert (np.abs(shown - ink).sum(axis=-1) < 150).sum() > 100  # outline and waterline


@only_with_more
def test_paint_lies_on_the_flank_that_it_is_for(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    bar = [[25.0, -10.0], [45.0, -10.0], [45.0, 10.0], [25.0, 10.0]]
    paint = {"box": [0, -10, 70, 10], "left": [{"colour": "#cc2200", "outlines": [bar]}], "right": []}
    page.evaluate("painted => show('bait', {paint: painted})", paint)
    page.wait_for_timeout(800)
    shown = pixels(page)
    red = (shown[..., 0] > 150) & (shown[..., 0] - shown[..., 1] > 100)
    columns = np.flatnonzero(red.any(axis=0))
    assert red.sum() > 500
    assert columns.max() - columns.min() < 0.5 * shown.shape[1]  # a bar in the middle third, no more
    page.evaluate("painted => show('bait', {paint: painted})", {**paint, "left": [], "right": paint["left"]})
    page.wait_for_timeout(800)
    assert ((pixels(page)[..., 0] - pixels(page)[..., 1]) > 100).sum() < 50  # the far flank is not seen


TWO_BAITS = """async () => {
  const { readMessage } = await import("/water/message.js");
  const read = async () => readMessage(await (await fetch("/answers/bait")).arrayBuffer());
  [window.first, window.second] = [await read(), await read()];
  second.water = { ...second.water, up: [0, 0, 1], level_mm: -8 }; // level, and higher out of the water
  afloat.show(first, {});
  await frames(2);
}"""


@only_with_more
def test_a_second_bait_lies_pale_at_its_own_waterline_until_it_is_taken_away(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate(TWO_BAITS)
    shown = []
    for state in ("{}", "{ under: second }", "{ under: null }"):
        page.evaluate(f"afloat.show(first, {state})")
        page.wait_for_timeout(1000)  # the one finer picture that follows
        shown.append(pixels(page))
    alone, both, again = shown
    rows, columns = np.nonzero(np.abs(both - alone).sum(axis=-1) > 8)
    body = np.flatnonzero(((alone[..., 0] - alone[..., 2]) > 25).any(axis=1))
    assert len(rows) > 500
    assert rows.min() < body.min() - 10  # it stands out above the other's back
    assert np.ptp(columns) > 200
    assert np.abs(again - alone).max() <= 2


@only_with_more
def test_the_bait_comes_to_rest_as_the_answer_lies_and_then_nothing_is_drawn(opened: Any) -> None:
    page = opened()
    page.evaluate("show('bait')")
    first = page.evaluate(POSE)
    assert not first["resting"]  # let go level, back up
    page.evaluate("rested()")
    last = page.evaluate(POSE)
    assert last["pitch_deg"] == pytest.approx(6.0, abs=0.03)  # the stillness that is not seen: 3e-4 rad
    assert last["roll_deg"] == pytest.approx(-2.0, abs=0.03)
    assert last["heave_mm"] == pytest.approx(0.0, abs=0.011)
    page.wait_for_timeout(800)  # the one finer picture that follows
    drawn = page.evaluate(FRAMES)
    page.wait_for_timeout(300)
    assert page.evaluate(FRAMES) == drawn


@only_with_more
def test_a_push_rocks_it_and_it_comes_back(opened: Any) -> None:
    page = opened()
    page.evaluate("show('bait')")
    page.evaluate("rested()")
    page.locator("canvas").focus()
    page.keyboard.press(" ")
    page.evaluate(f"until(() => Math.abs({POSE}.roll_deg + 2) > 1)")  # a busy machine sees few of its first swings
    page.evaluate("rested()")
    assert page.evaluate(POSE)["roll_deg"] == pytest.approx(-2.0, abs=0.03)
    assert "nose 6.0° up" in page.locator("canvas").get_attribute("aria-label")


def test_who_wants_no_motion_sees_it_at_rest_at_once(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate("show('bait')")
    assert page.evaluate(POSE) == pytest.approx({"pitch_deg": 6.0, "roll_deg": -2.0, "heave_mm": 0, "resting": True})
    page.evaluate("afloat.push()")
    assert page.evaluate(POSE)["resting"]


SWUNG = """async ([water, name, seconds, started]) => {
  const { later, still, swingsOf } = await import("/water/rocking.js");
  let motion = still();
  motion.off[name] = started;
  const swings = swingsOf(water);
  const off = [];
  for (let i = 0; i < seconds * 240; i++) { motion = later(motion, swings, 1 / 240); off.push(motion.off[name]); }
  return off;
}"""


def swung(page: Any, name: str, damping: float, **changes: Any) -> Any:
    """How far off rest it is, 240 times a second, let go 0.02 off."""
    curve = [[-90, -0.2 * pi / 2], [90, 0.2 * pi / 2]]  # 0.2 N mm a radian
    water = {"up": [0, 0, 1], "mass_g": 8, "inertia_g_mm2": [[400, 0, 0], [0, 400, 0], [0, 0, 400]]}
    water |= {"righting": {"roll": curve, "pitch": curve}, "heave_n_per_mm": 0.004, "added_mass": 0.25}
    water |= {"damping": damping, **changes}
    return np.array(page.evaluate(SWUNG, [water, name, 4, 0.02]))


@pytest.mark.parametrize(("name", "stiff", "bulk"), [("roll", 0.2, 400), ("pitch", 0.2, 400), ("heave", 0.004, 8)])
def test_its_period_is_that_of_an_undamped_swing(opened: Any, name: str, stiff: float, bulk: float) -> None:
    # T = 2 pi sqrt(I / k), S. S. Rao, Mechanical Vibrations, free undamped vibration (from memory)
    off = swung(opened(), name, 0.0)
    down = np.flatnonzero((off[:-1] > 0) & (off[1:] <= 0))
    period = (down[-1] - down[0]) / (len(down) - 1) / 240
    expected = 2 * pi * sqrt(1.25 * bulk / (stiff * 1e6))
    assert period == pytest.approx(expected, rel=0.01)  # a step is 1/65 of it; a count of steps is sure to one
    assert np.abs(off[-300:]).max() == pytest.approx(0.02, rel=0.05)  # and nothing is lost or won


@pytest.mark.parametrize("damping", [0.05, 0.2])
def test_each_swing_is_smaller_by_the_logarithmic_decrement(opened: Any, damping: float) -> None:
    # x1 / x2 = exp(2 pi z / sqrt(1 - z^2)), S. S. Rao, as above (from memory)
    off = swung(opened(), "roll", damping)
    tops = [i for i in range(1, len(off) - 1) if off[i - 1] < off[i] >= off[i + 1]]
    share = off[tops[1]] / off[tops[0]]
    # steps of 0.08 rad of the swing, and tops that fall between them
    assert share == pytest.approx(exp(-2 * pi * damping / sqrt(1 - damping**2)), rel=0.05)


@pytest.mark.parametrize("missing", ["damping", "added_mass", "righting", "inertia_g_mm2"] if MORE else ["damping"])
def test_a_motion_of_which_a_number_is_missing_is_not_made_up(opened: Any, missing: str) -> None:
    page = opened()
    page.evaluate("name => show('bait', {[`water.${name}`]: null})", missing)
    off = page.evaluate(f"""async () => {{ afloat.push(); await frames(2);
        return [{POSE}.pitch_deg, {POSE}.roll_deg]; }}""")
    assert off == pytest.approx([6.0, -2.0])


@only_with_more
def test_a_glance_rocks_it_on_with_the_curves_of_the_last_whole_answer(opened: Any) -> None:
    page = opened()
    page.evaluate("show('bait')")
    page.evaluate("rested()")
    changes = {"water.righting": None, "water.up": [0.0, 0.0, 1.0], "solid": None}
    page.evaluate("changes => show('glance', changes)", {**changes, "water.damping": None, "water.added_mass": None})
    assert not page.evaluate(POSE)["resting"]
    page.evaluate("rested()")
    assert page.evaluate(POSE)["pitch_deg"] == pytest.approx(0.0, abs=0.03)


@only_with_more
def test_nothing_rocks_while_a_hand_waits_for_its_answer_and_the_answer_is_drawn_at_once(opened: Any) -> None:
    page = opened()
    page.evaluate("show('bait')")
    before = page.evaluate(f"afloat.wait(true); frames(3).then(() => {FRAMES})")
    assert page.evaluate(f"frames(5).then(() => {FRAMES})") == before
    at_once = "show('glance', {'water.up': [0, 0, 1]})"
    assert page.evaluate(f"{at_once}.then(() => {FRAMES})") == before + 1
    assert not page.evaluate(POSE)["resting"]
    page.evaluate("afloat.wait(false); rested()")
    assert page.evaluate(POSE)["pitch_deg"] == pytest.approx(0.0, abs=0.03)


@only_with_more
def test_a_part_that_came_before_is_taken_from_there(opened: Any) -> None:
    page = opened()
    taken = page.evaluate("""async () => {
        const { readMessage } = await import("/water/message.js");
        const message = (part) => {
            const text = new TextEncoder().encode(JSON.stringify({ solid: { parts: [part] } }).padEnd(400));
            const numbers = new Uint8Array(new Float32Array([1, 2, 3]).buffer);
            return new Uint8Array([400 & 255, 400 >> 8, 0, 0, ...text, ...numbers]).buffer;
        };
        const held = new Map();
        const read = (places) => readMessage(message({ name: "a", ...places }), held).solid.parts[0];
        const first = read({ positions: [0, 3], normals: [0, 0], index: null });
        const second = read({ positions: null, normals: null, index: null });
        return [[...first.positions], second.positions === first.positions, second.normals];
    }""")
    assert taken == [[1, 2, 3], True, None]


@only_with_more
def test_a_bait_that_sinks_is_shown_below_the_surface(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate("show('bait', {'water.level_mm': null, 'water.heave_n_per_mm': 0, 'water.state': 'sinks'})")
    assert page.evaluate(POSE)["resting"]
    assert page.evaluate(FRAMES) > 0


@only_with_more
def test_keys_turn_the_view_and_home_puts_it_back(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate("show('bait')")
    page.locator("canvas").focus()
    page.wait_for_timeout(800)
    before = pixels(page)
    for key in ("ArrowLeft", "ArrowUp", "+"):
        page.keyboard.press(key)
        page.wait_for_timeout(800)
        turned = pixels(page)
        assert (np.abs(turned - before).sum(axis=-1) > 30).mean() > 0.005, key
        page.keyboard.press("Home")
        page.wait_for_timeout(800)
        assert (np.abs(pixels(page) - before).sum(axis=-1) > 30).mean() < 0.001, key


def test_a_refused_answer_leaves_the_last_picture_faint(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate("show('bait')")
    page.evaluate("show('bait', {refused: [{message: 'no'}], solid: null, water: null, drawing: null})")
    assert page.locator(".water.is-faint, .drawing.is-faint").count() == 2
    assert page.evaluate(POSE)["pitch_deg"] == pytest.approx(6.0)
    assert page.locator(".drawing-outline").count() == 1
    page.evaluate("show('bait')")
    assert page.locator(".is-faint").count() == 0


def test_without_webgl_it_says_so_and_the_drawing_is_there(opened: Any) -> None:
    page = opened("HTMLCanvasElement.prototype.getContext = () => null;")
    page.evaluate("show('bait')")
    assert "no WebGL" in page.locator("#water").inner_text()
    assert page.locator("#water canvas").count() == 0
    assert page.locator(".drawing-outline").count() == 1


@only_with_more
def test_a_lost_picture_says_so_and_comes_back(opened: Any) -> None:
    page = opened(reduced_motion="reduce")
    page.evaluate("show('bait')")
    page.wait_for_timeout(800)
    before = pixels(page)
    page.evaluate("""() => { const gl = document.querySelector("canvas").getContext("webgl2");
        window.lost = gl.getExtension("WEBGL_lose_context"); lost.loseContext(); }""")
    note = page.locator(".water-says")
    note.wait_for(state="visible")
    assert "comes back" in note.inner_text()
    page.evaluate("lost.restoreContext()")
    note.wait_for(state="hidden")
    page.wait_for_timeout(600)
    assert (np.abs(pixels(page) - before).sum(axis=-1) > 30).mean() < 0.001
