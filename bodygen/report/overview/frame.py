"""What every page that a double click opens has in common: its head, its look, the cautions at its end.

No script, nothing from elsewhere; whoever fills it escapes every text, as names are anybody's.
"""

from collections.abc import Iterable, Sequence
from html import escape

from bodygen.tables import load

STYLE = """
:root { color-scheme: light dark; --ink: #1b1b1b; --paper: #fdfcf9; --line: #767672; --pale: #efede6; --link: #17418a }
@media (prefers-color-scheme: dark) {
  :root { --ink: #eceae4; --paper: #1a1c1e; --line: #8b8e91; --pale: #26292c; --link: #9cc1ff }
}
@media print {
  :root { color-scheme: light; --ink: #000; --paper: #fff; --line: #555; --pale: #fff; --link: #000 }
  body { padding: 0; font-size: 10pt } figure, tr, li { break-inside: avoid } h2 { break-after: avoid }
}
* { box-sizing: border-box }
body { margin: 0 auto; max-width: 100rem; padding: 1rem clamp(1rem, 3vw, 3rem) 3rem; color: var(--ink);
  background: var(--paper); font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: anywhere }
h1 { margin: 0; font-size: 1.7rem } h2 { margin: 2rem 0 .6rem; border-bottom: 1px solid var(--line) }
h3 { margin: 1rem 0 .2rem; font-size: 1rem } p { margin: .2rem 0; max-width: 75ch }
a { color: var(--link) } a:focus-visible { outline: 3px solid var(--link); outline-offset: 2px }
.files { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(15rem, 100%), 1fr)); gap: 1rem;
  max-width: none; margin: 0; padding: 0; list-style: none }
.files li { padding: .6rem; border: 1px solid var(--line); background: var(--pale) } .files h3 { margin-top: .5rem }
.shown { display: block; height: 9rem; padding: .4rem; background: #fff; color: #1b1b1b; text-align: center;
  text-decoration: none }
.shown img { width: 100%; height: 100%; object-fit: contain } .shown span { font: 2rem/7.5rem system-ui, sans-serif }
.care { margin: .2rem 0 .8rem; padding: .5rem .8rem; border-left: 4px solid var(--line); background: var(--pale) }
dt { margin-top: .8rem; font-weight: 600 } dd { margin: 0; max-width: 75ch }
"""


def framed(title: str, body: Iterable[str], style: str = "") -> str:
    """Put a page together; ``style`` is what it has beside the common one."""
    head = [
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title>",
        f"<style>{STYLE}{style}</style>",
        "</head>",
        "<body>",
    ]
    return "\n".join([*head, *body, "</body>", "</html>", ""])


def care(keys: Sequence[str]) -> list[str]:
    """Every caution in full, and the sentence that defers."""
    table = load("cautions")
    lines = ["<section>", '<h2 id="care">Take care</h2>', "<dl>"]
    for key in keys:
        row = table["caution"][key]
        lines.append(f'<dt id="{key}">{escape(row["title"])}</dt><dd>{escape(row["text"])}</dd>')
    return [*lines, "</dl>", f"<p>{escape(table['defer']['text'])}</p>", "</section>"]
