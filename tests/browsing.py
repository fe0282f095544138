"""A real browser on a real page: the server as a program of its own, Debian's Chromium, and what a hand does there."""

import os
import shutil
import subprocess
import sys
from base64 import b64encode
from contextlib import contextmanager
from pathlib import Path

import pytest

CHROMIUM = os.environ.get("BODYGEN_BROWSER") or shutil.which("chromium")
NEEDED = bool(os.environ.get("BODYGEN_NEEDS_BROWSER"))
DEMOS = Path(__file__).parents[1] / "params"
AXE = Path(__file__).parent / "serve" / "page" / "vendor" / "axe.min.js"
PERCH = "demo:tarn-perch-70"
WAIT_MS = 60_000
"""Longer than any answer takes on a busy machine; nothing waits so long that goes well."""
BANNER = (
    "################ SKIPPED: no `chromium` here, or no Playwright; THE PAGE WAS NOT OPENED (apt install chromium)"
)
HEARD = """
window.shown = [];
document.addEventListener("bodygen:shown", (event) => window.shown.push(event.detail));
"""

DROP = """([name, packed, times]) => {
    const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(new File(Array(times).fill(bytes), name));
    const how = { dataTransfer, bubbles: true, cancelable: true };
    for (const what of ["dragenter", "dragover", "drop"]) document.body.dispatchEvent(new DragEvent(what, how));
}"""


def need_browser():
    """Skip, or fail where BODYGEN_NEEDS_BROWSER says that there must be one."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        found = False
    else:
        found = CHROMIUM is not None
    if not found and NEEDED:
        pytest.fail("BODYGEN_NEEDS_BROWSER is set, and there is no chromium or no Playwright")
    if not found:
        pytest.skip(BANNER)


@contextmanager
def chromium():
    """One browser without a window."""
    need_browser()
    from playwright.sync_api import sync_playwright

    sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=sandbox)
        yield browser
        browser.close()


class Server:
    """`bodygen serve` on a folder; can be killed and begun again at the same place."""

    def __init__(self, folder: Path, *more: str, program=("-m", "bodygen")) -> None:
        self.folder, self.port, self.more, self.program = folder, 0, more, program
        self.process, self.address = None, ""

    def start(self):
        words = ["serve", str(self.folder), "--port", str(self.port), "--no-open", *self.more]
        command = [sys.executable, *self.program, *words]
        home = {"XDG_STATE_HOME": str(self.folder.parent / "state"), "HOME": str(self.folder.parent)}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=os.environ | home)
        self.address = self.process.stdout.readline().strip()
        self.port = int(self.address.split(":")[2].split("/")[0])
        return self

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


@contextmanager
def serving(folder, *more, **program):
    """A server on a folder, ended at the end."""
    server = Server(folder, *more, **program).start()
    try:
        yield server
    finally:
        server.kill()


class Hand:
    """What a person does on one page, in the words of the tests."""

    def __init__(self, browser, address, bait="", **context):
        self.context = browser.new_context(**({"viewport": {"width": 1280, "height": 800}} | context))
        self.context.set_default_timeout(WAIT_MS)
        self.said = []
        self.page = self.open(address, bait)

    def open(self, address, bait=""):
        page = self.context.new_page()
        page.add_init_script(HEARD)
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("console", lambda message: self.said.append(message.text) if message.type == "error" else None)
        page.goto(address + (f"#{bait}" if bait else ""))
        settled(page)
        return page

    def field(self, key):
        return self.page.locator(f'#bench [data-key="{key}"]')

    def tape(self, key):
        return self.page.locator(f'[data-ruler="{key}"]')

    def put(self, key, text):
        """Write into a field as a person does, and wait for all of the answer."""
        before = asks(self.page)
        self.field(key).fill(text)
        self.field(key).press("Enter")
        settled(self.page, before)

    def drop(self, name, content, times=1):
        """Let a file go over the page: the browser's own events, with a file in them."""
        self.page.evaluate(DROP, [name, b64encode(content).decode(), times])

    def sheet(self, title):
        """The sheet of that title, when it is there."""
        found = self.page.get_by_role("dialog", name=title, exact=True)
        found.wait_for()
        return found

    def back(self):
        """The one key that undoes, and all of the answer to it."""
        before = asks(self.page)
        self.page.keyboard.press("Control+z")
        settled(self.page, before)

    def close(self):
        self.context.close()


def asks(page):
    """How many answers were shown so far."""
    return page.evaluate("window.shown.length")


def settled(page, after=-1):
    """Until all of an answer later than that many is on the screen."""
    page.wait_for_function(
        "after => window.shown.length > Math.max(after, 0) && window.shown.at(-1).want === 'whole'",
        arg=after,
        timeout=WAIT_MS,
    )


def violations(page):
    """What axe-core finds against WCAG 2.2 A and AA and its own good practice, as rule, place and why."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("rules => axe.run({runOnly: rules})", rules)
    rows = [(rule["id"], node) for rule in found["violations"] for node in rule["nodes"]]
    return [(rule, node["target"], node.get("failureSummary", "")[:300]) for rule, node in rows]
