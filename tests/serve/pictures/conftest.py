"""A browser, and a page that holds the two pictures alone: answers are made here, as the server would send them."""

import http.server
import json
import struct
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browsing import chromium

import bodygen

SHIPPED = Path(bodygen.__file__).parent / "serve" / "page"
POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'"

PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>Two pictures</title><link rel="icon" href="data:,">
<link rel="stylesheet" href="/ink.css"><link rel="stylesheet" href="/water/water.css">
<link rel="stylesheet" href="/drawing/drawing.css">
<link rel="stylesheet" href="/here.css"><main><div id="water"></div><div id="drawing"></div></main>
<script type="module" src="/here.js"></script>"""
STYLE = """#water { height: 350px; } #drawing { height: 330px; }"""
SCRIPT = """
import { mount as mountWater } from "/water/water.js";
import { mount as mountDrawing } from "/drawing/drawing.js";
import { readMessage } from "/water/message.js";
const here = (name) => document.getElementById(name);
window.calls = [];
window.again = (withWater) => {
  window.afloat?.dispose();
  window.drawn?.dispose();
  delete here("water").pose;
  window.afloat = withWater ? mountWater(here("water")) : { show() {}, dispose() {} };
  window.drawn = mountDrawing(here("drawing"), {
    onChange: (key, text, { final }) => calls.push([key, text, final]),
    onView: (view) => calls.push(view),
  });
  calls.length = 0;
};
window.show = async (name, changes = {}, state = {}) => {
  const answer = readMessage(await (await fetch(`/answers/${name}`)).arrayBuffer());
  for (const [path, value] of Object.entries(changes)) {
    const keys = path.split(".");
    keys.slice(0, -1).reduce((at, key) => at[key], answer)[keys.at(-1)] = value;
  }
  afloat.show(answer, state);
  drawn.show(answer, state);
  await window.frames(2);
};
window.frames = async (count) => {
  for (let i = 0; i < count; i++) await new Promise(requestAnimationFrame);
};
window.until = async (holds) => {
  const end = performance.now() + 20000;
  while (!holds()) {
    if (performance.now() > end) throw new Error(`never true: ${holds}`);
    await new Promise((done) => setTimeout(done, 20));
  }
};
window.rested = () => until(() => here("water").pose?.resting);
window.ready = true;
"""


@pytest.fixture(scope="module")
def served() -> Iterator[str]:
    """Where the page and its answers are, as long as the tests of a module run."""
    answers = {"/answers/bait": message(answer()), "/answers/glance": message(answer(coarse=True))}

    class Asked(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            own = {"/": ("text/html", PAGE), "/here.css": ("text/css", STYLE), "/here.js": ("text/javascript", SCRIPT)}
            file = SHIPPED / self.path[1:]
            if self.path in own:
                kind, body = own[self.path][0], own[self.path][1].encode()
            elif self.path in answers:
                kind, body = "application/octet-stream", answers[self.path]
            elif file.is_file():
                kind, body = {".js": "text/javascript", ".css": "text/css"}[file.suffix], file.read_bytes()
            else:
                self.send_error(404)
                return
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Security-Policy", POLICY)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Say nothing: the tests' output is for what fails."""

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Asked)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}/"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser a module, without a window."""
    with chromium() as one:
        yield one


@pytest.fixture(scope="module")
def pages(browser: Any, served: str) -> Iterator[Any]:
    """A function that gives the page with the options of a browser's context: one for each, opened once a module."""
    kept: dict[str, tuple[Any, Any]] = {}
    wrong: list[str] = []

    def page_of(script: str, options: dict[str, Any]) -> Any:
        key = json.dumps([script, options])
        if key in kept:
            return kept[key][1]
        context = browser.new_context(**({"viewport": {"width": 700, "height": 700}} | options))
        if script:
            context.add_init_script(script)
        page = context.new_page()
        kept[key] = context, page
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        page.goto(served)
        page.evaluate("async () => { while (!window.ready) await new Promise((done) => setTimeout(done, 10)); }")
        return page

    page_of.wrong = wrong  # type: ignore[attr-defined]
    yield page_of
    for context, _ in kept.values():
        context.close()


@pytest.fixture
def opened(pages: Any, request: pytest.FixtureRequest) -> Iterator[Any]:
    """A function that gives the page as if just opened, with what the module looks at; its errors fail the test."""
    pages.wrong.clear()
    water = request.node.path.stem == "test_water"

    def opens(script: str = "", **options: Any) -> Any:
        page = pages(script, options)
        page.mouse.move(0, 0)
        page.evaluate("water => again(water)", water)
        return page

    yield opens
    assert not [text for text in pages.wrong if "THREE.WebGLRenderer" not in text]


def message(told: tuple[dict[str, Any], bytes]) -> bytes:
    """An answer as it goes over the wire."""
    words = json.dumps(told[0]).encode()
    words += b" " * (-len(words) % 4)
    return struct.pack("<I", len(words)) + words + told[1]


def answer(*, coarse: bool = False) -> tuple[dict[str, Any], bytes]:
    """A spindle 70 mm long, 20 mm deep, 16 mm thick, that lies nose up 6 degrees, right side 2 degrees down."""
    points, normals, index = _spindle(12 if coarse else 40)
    normals = np.concatenate([normals * 32767, normals[:, :1] * 0], axis=1)
    runs = [points.astype("<f4").tobytes(), normals.astype("<i2").tobytes(), index.astype("<u2").tobytes()]
    at = np.cumsum([0, *map(len, runs)])
    part: dict[str, Any] = {"role": "body", "colour": "#bdb76b", "positions": [0, points.size]}
    part |= {"normals": None if coarse else [int(at[1]), normals.size], "index": [int(at[2]), index.size]}
    pitch, roll = np.radians([6.0, -2.0])
    up = [-np.sin(pitch), np.cos(pitch) * np.sin(roll), np.cos(pitch) * np.cos(roll)]
    degrees = range(-180, 181, 5)
    curve = {name: [[d, most * np.sin(np.radians(d))] for d in degrees] for name, most in MOMENTS.items()}
    water = {"up": [float(u) for u in up], "level_mm": 1.0, "centre_of_mass": [33.0, 0.0, -2.0], "mass_g": 9.0}
    water |= {"inertia_g_mm2": [[300, 0, 0], [0, 2500, 0], [0, 0, 2500]], "heave_n_per_mm": 0.006, "righting": curve}
    water |= {"added_mass": {"heave": 1.0, "roll": 0.2, "pitch": 0.8}, "damping": dict.fromkeys(MOMENTS, 0.2)}
    water["damping"] |= {"heave": 0.3}
    return {
        "ask": 1, "answer_ms": 9, "want": "glance" if coarse else "whole", "text": "", "refused": None,
        "name": "Spindle", "units": "in", "drawing": _drawing(), "water": water,
        "solid": {"coarse": coarse, "parts": [part]},
    }, b"".join(runs)  # fmt: skip


MOMENTS = {"roll": 0.13, "pitch": 2.0}
"""Greatest righting moments [N mm]."""


def _spindle(rows: int) -> tuple[Any, Any, Any]:
    t, turn = np.meshgrid(np.linspace(0, np.pi, rows), np.linspace(0, 2 * np.pi, 24, endpoint=False), indexing="ij")
    ball = np.stack([-np.cos(t), np.sin(t) * np.sin(turn), np.sin(t) * np.cos(turn)], axis=-1).reshape(-1, 3)
    half = np.array([35.0, 8.0, 10.0])
    normals = ball / half
    at = np.arange(rows * 24).reshape(rows, 24)
    a, b = at[:-1], np.roll(at[:-1], -1, axis=1)
    c, d = at[1:], np.roll(at[1:], -1, axis=1)
    index = np.concatenate([np.stack([a, b, c], axis=-1), np.stack([b, d, c], axis=-1)]).reshape(-1, 3)
    return ball * half + (35, 0, 0), normals / np.linalg.norm(normals, axis=1, keepdims=True), index[:, ::-1].copy()


def _drawing() -> dict[str, Any]:
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    ring = np.stack([35 - 35 * np.cos(turn), 10 * np.sin(turn)], axis=1).tolist()
    inch = {"unit": "in", "step": 1 / 64, "low": 0.125, "high": 2.75}
    mouth = {"at": [28.575, -9.8], "along": [1, 0], "per_mm": 1 / 25.4, "number": 1.125, "text": "1-1/8 in"}
    handles = [
        {"key": "bore[1].x", "label": "ballast, from the nose", **mouth, **inch},
        {"key": "bore[1].depth", "label": "ballast, depth", "at": [28.575, 0.5], "along": [0, 1],
         "per_mm": 1 / 25.4, "number": 0.375, "text": "3/8 in", **inch, "low": 0.0625, "high": 0.75},
        {"key": "shape.back.points[2][2]", "label": "back, point 2", "at": [50.0, 9.0], "along": [0, 1],
         "per_mm": 0.1, "number": 0.9, "unit": "", "step": 0.01, "low": 0, "high": None},
        {"key": "shape.back.points[2][1]", "label": "back, point 2, from the nose", "at": [50.0, 9.0],
         "along": [1, 0], "per_mm": 1, "number": 50.0, "unit": "mm", "step": 0.1, "low": 40, "high": 60},
        {"key": "lip.angle", "label": "lip, angle", "at": [-6.0, -14.0], "along": [0.64, -0.77],
         "per_mm": 3.8, "number": 40, "unit": "deg", "step": 0.5, "low": 0, "high": 90},
    ]  # fmt: skip
    bore = [[25.4, -9.8], [25.4, 0.5], [31.75, 0.5], [31.75, -9.8]]
    shapes = [
        {"role": "centre", "closed": False, "points": [[-2, 0], [72, 0]]},
        {"role": "waterline", "closed": False, "points": [[-30, -2], [100, 9]]},
        {"role": "bore", "closed": True, "hidden": True, "points": bore},
        {"role": "outline", "closed": True, "points": ring},
    ]
    return {"view": "side", "length_mm": 70.0, "box": [-8, -16, 72, 12], "shapes": shapes, "handles": handles}
