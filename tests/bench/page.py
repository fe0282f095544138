"""How quick the page is: python tests/bench/page.py [first] [moves] [frames].

In Chromium without a window and without a graphics card, each figure beside a yardstick of the same run: what a small
file of the page's server takes there and back; before and after all of it the processor's own, of ``bench.py``.
Prints figures, passes or fails nothing.
"""

import mmap
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from bench import yardstick as processor_yardstick
from browsing import DEMOS, HEARD, PERCH, Hand, chromium, serving, settled

STEPS = 40
PRIVATE = mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS
STILL_S, MEMORY = 0.13, 40 << 20
"""From the end of a move's work to the next; and bytes that lie still meanwhile."""
LOADS = 5
PAUSE_MS = 90
"""Between two moves of the hand: its own answer has been shown by then, or it has not."""
WANTED = {"bore": (60, 120), "density": (60, 120), "lip angle": (60, 120), "outline point": (120, 250)}
"""Milliseconds that half and nineteen in twenty of the moves should take at most."""
RUN = 10
"""Moves one way before the hand turns round: what comes next is worked out while it lies still. To and fro, with a turn
after every move, it never is what comes."""

# a hand moves a slider; each move counts until an answer later than it is on the screen
MOVED = """async ([selector, keys, steps, pause, run]) => {
  const hand = document.querySelector(selector);
  const asked = [], server = [], shown = [];
  const heard = (event) => shown.push([performance.now(), event.detail]);
  document.addEventListener("bodygen:shown", heard);
  hand.focus();
  // nothing is polled: a timer that fires all the while would be measured along
  const answered = (most) => new Promise((done) => {
    const late = setTimeout(done, most);
    document.addEventListener("bodygen:shown", () => (clearTimeout(late), done()), { once: true });
  });
  const press = (kind, key) => hand.dispatchEvent(new KeyboardEvent(kind, { key, bubbles: true, cancelable: true }));
  for (let i = 0; i < steps; i++) {
    const way = i % (2 * run) < run ? 1 : -1;
    const before = shown.length;
    const began = performance.now();
    press("keydown", keys[way > 0 ? 0 : 1]);
    if (shown.length === before) await answered(5000);
    if (shown.length > before) {
      asked.push(shown[before][0] - began);
      server.push(shown[before][1].answer_ms);
    }
    await new Promise((done) => setTimeout(done, pause));
  }
  const stopped = performance.now();
  press("keyup", keys[1]);
  hand.dispatchEvent(new Event("change", { bubbles: true }));
  const whole = () => shown.find(([at, detail]) => at > stopped && detail.want === "whole");
  while (!whole() && performance.now() - stopped < 15000) await answered(15000);
  document.removeEventListener("bodygen:shown", heard);
  return { asked, server, whole: whole() ? whole()[0] - stopped : null };
}"""

SMALL = """async (count) => {
  const took = [];
  for (let i = 0; i < count; i++) {
    const began = performance.now();
    await (await fetch("icon.svg", { cache: "no-store" })).arrayBuffer();
    took.push(performance.now() - began);
  }
  return took;
}"""

ROCKED = """async (ms) => {
  const water = document.querySelector("#water");
  const push = [...water.querySelectorAll("button")].find((button) => button.textContent === "Push");
  push.click();
  await new Promise((done) => setTimeout(done, 500));
  const began = performance.now(), first = water.frames;
  const again = setInterval(() => push.click(), 400);
  await new Promise((done) => setTimeout(done, ms));
  clearInterval(again);
  const canvas = water.querySelector("canvas");
  const rate = (1000 * (water.frames - first)) / (performance.now() - began);
  return { rate, wide: canvas.width, high: canvas.height };
}"""


SHOWN_AT = "document.addEventListener('bodygen:shown', () => { window.at = performance.now(); });"


def told(name: str, took: list[float], yardstick: float, wanted: tuple[int, int] | None = None) -> None:
    """Median and 95th percentile [ms], and how many yardsticks the median is."""
    half, most = statistics.median(took), statistics.quantiles(took, n=20)[-1]
    aim = f"  (wanted {wanted[0]} / {wanted[1]})" if wanted else ""
    print(f"{name:24} p50 {half:6.0f} ms   p95 {most:6.0f} ms   {half / yardstick:6.1f} yardsticks{aim}")


def moved(hand: Hand, name: str, selector: str, yardstick: float) -> None:
    """One slider's moves, and the whole answer after the last."""
    hand.page.wait_for_selector(selector, state="attached")
    keys = ["ArrowUp", "ArrowDown"]
    restless: dict[str, Any] = hand.page.evaluate(MOVED, [selector, keys, STEPS, PAUSE_MS, 1])
    found: dict[str, Any] = hand.page.evaluate(MOVED, [selector, keys, STEPS, PAUSE_MS, RUN])
    told(name, found["asked"], yardstick, WANTED[name])
    told(f"{name}, to and fro", restless["asked"], yardstick)
    whole, share = found["whole"], statistics.median(found["server"])
    print(f"{'':24} of it working the answer out p50 {share:6.0f} ms")
    print(f"{'':24} the whole answer {'never came' if whole is None else f'after {whole:.0f} ms'}  (wanted 400)")


def rocking(browser: Any, address: str, demo: str) -> None:
    """Frames a second of a bait that rocks on 1000 by 700 pixels."""
    hand = Hand(browser, address, f"demo:{demo}", viewport={"width": 1400, "height": 1000})
    hand.page.evaluate("""() => { const water = document.querySelector("#water");
        Object.assign(water.style, { position: "fixed", inset: "0 auto auto 0", width: "1000px", height: "700px",
                                     zIndex: 9 }); }""")
    hand.page.wait_for_timeout(2000)
    found = hand.page.evaluate(ROCKED, 3000)
    size = f"{found['wide']} x {found['high']}"
    print(f"{demo:24} {found['rate']:5.1f} frames a second on 1000 x 700, the canvas at last {size}  (wanted 30)")
    hand.close()


def first(browser: Any, address: str) -> None:
    """A page opened by a browser that has nothing of it: bytes as sent, and when its first whole answer is shown."""
    took, sent = [], []
    for _ in range(LOADS):
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        page = context.new_page()
        page.add_init_script(HEARD + SHOWN_AT)
        network = context.new_cdp_session(page)
        network.send("Network.enable")
        lengths: list[float] = []
        network.on("Network.loadingFinished", lambda told, lengths=lengths: lengths.append(told["encodedDataLength"]))
        page.goto(f"{address}#{PERCH}", wait_until="commit")
        settled(page)
        took.append(page.evaluate("window.at"))
        sent.append(sum(lengths))
        context.close()
    half, most = statistics.median(took), max(took)
    print(f"{'first load':24} usable after {half:.0f} ms, at most {most:.0f} of {LOADS}  (wanted 1500)")
    print(f"{'':24} {max(sent) / 1e6:.2f} MB as sent  (wanted 1)")


def moves(browser: Any, address: str, folder: Path) -> None:
    """Every slider's moves."""
    text = (DEMOS / "tarn-perch-70.toml").read_text(encoding="utf-8")
    told_wood = text.replace("moisture_percent = 9", "density_g_cm3 = 0.41")
    (folder / "perch.toml").write_text(told_wood, encoding="utf-8")
    hand = Hand(browser, address, "perch.toml")
    hand.page.wait_for_function("() => document.querySelector('#water').pose?.resting")
    took = hand.page.evaluate(SMALL, 40)
    yardstick = statistics.median(took)
    told("yardstick: a small file", took, yardstick)
    moved(hand, "bore", 'input[data-ruler="bore[1].depth"]', yardstick)
    moved(hand, "density", 'input[data-ruler="wood.density_g_cm3"]', yardstick)
    moved(hand, "lip angle", 'input[data-ruler="lip.angle"]', yardstick)
    hand.close()
    hand = Hand(browser, address, "demo:fell-reed-110")
    moved(hand, "outline point", '#drawing [data-key^="shape.back."]', yardstick)
    hand.close()


def machine() -> None:
    """How quick the machine is now: the same machine may be a third slower an hour later.

    Memory that was left alone for as long as between two moves weighs more with a move than the processor does, as
    every process of it has lain still: in a virtual machine that may be thirty times what it takes at once.
    """
    took = statistics.median(processor_yardstick() for _ in range(5))
    print(f"{'processor yardstick':24} {1000 * took:.0f} ms")
    memory = np.frombuffer(mmap.mmap(-1, MEMORY, flags=PRIVATE), dtype=np.uint8)[::4096]
    memory[:] = 1  # else all of it is the one page of zeros
    still, at_once = (statistics.median(touched(memory, pause) for _ in range(9)) for pause in (STILL_S, 0))
    each = 1e9 / len(memory)
    print(f"{'memory after a pause':24} {each * still:.0f} ns a page, {each * at_once:.0f} at once")


def touched(memory: NDArray[np.uint8], pause: float) -> float:
    """Seconds to read all of it after a pause [s]."""
    time.sleep(pause)
    began = time.perf_counter()
    memory.sum()
    return time.perf_counter() - began


def main() -> None:
    """All figures, or those that are named."""
    wanted = sys.argv[1:] or ["first", "moves", "frames"]
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as server, chromium() as browser:
        machine()
        if "first" in wanted:
            first(browser, server.address)
        if "moves" in wanted:
            moves(browser, server.address, Path(folder))
        if "frames" in wanted:
            for demo in sorted(path.stem for path in DEMOS.glob("*.toml")):
                rocking(browser, server.address, demo)
        machine()


if __name__ == "__main__":
    main()
