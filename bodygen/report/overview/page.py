"""index.html of a folder: every file with a small picture and what it is for; opened by a double click, no server.

Every text is escaped, as names of recipes are anybody's.
"""

from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from html import escape
from urllib.parse import quote

from bodygen.assessment import Assessment
from bodygen.findings import Finding
from bodygen.report.overview.entries import KindGroup, StemFiles
from bodygen.report.overview.frame import care, framed
from bodygen.report.sheet import caution_keys, printed_how
from bodygen.report.stamp import stamp
from bodygen.report.summary import WORDS, finding_head
from bodygen.tables import load
from bodygen.units import length_text
from bodygen.version import code_of

FILE = "index.html"
Picture = tuple[str, bytes]
"""What a picture is, as the web names it after "image/", and the picture."""


def overview_page(
    a: Assessment,
    sections: Sequence[KindGroup],
    drawn: Callable[[str], Picture | None],
    parts: Sequence[Mapping[str, str]] = (),
    also: Sequence[str] = (),
) -> str:
    """Write the page.

    Parameters
    ----------
    a : Assessment
        Name, size, code; every doubt, those of the files, too.
    sections : sequence of KindGroup
        What lies in the folder.
    drawn : callable
        The picture of a file that no picture of the folder shows; None where there is nothing to draw.
    parts : sequence of mapping
        What is to be made: name, material, amount, time (rough, or empty).
    also : sequence of str
        Keys of cautions that no section has.
    """
    name = escape(a.recipe.name)
    length, depth, thickness = (escape(length_text(size, a.recipe.units)) for size in a.shaped.sizes)
    within = (key for section in sections for key in section.cautions)
    keys = list(dict.fromkeys([*caution_keys(a.recipe), *within, *also]))
    body = [
        "<header>",
        f"<h1>{name}</h1>",
        f"<p>{length} long, {depth} deep, {thickness} thick. Code {escape(code_of(a.recipe.sha256))}.</p>",
        "</header>",
        "<main>",
        *(line for section in sections for line in files_listed(section, drawn)),
        *_parts(parts),
        *doubts(a.findings, a.recipe.units),
        *care(keys),
        "</main>",
        f"<footer><p>{escape(stamp(a.recipe))}</p></footer>",
    ]
    return framed(a.recipe.name, body)


def files_listed(section: KindGroup, drawn: Callable[[str], Picture | None] = lambda _: None) -> list[str]:
    """List the files of a section, each with its picture and what it is for."""
    title = section.title[:1].upper() + section.title[1:]
    lines = ["<section>", f"<h2>{escape(title)}</h2>"]
    if section.cautions:
        table = load("cautions")["caution"]
        titles = "; ".join(f'<a href="#{key}">{escape(table[key]["title"])}</a>' for key in section.cautions)
        lines.append(f'<p class="care">Take care: {titles}.</p>')
    lines.append('<ul class="files">')
    lines += [_entry(entry, drawn) for entry in section.entries]
    return [*lines, "</ul>", "</section>"]


def _entry(entry: StemFiles, drawn: Callable[[str], Picture | None]) -> str:
    """One stem: picture, name, purpose, a link to each of its files."""
    links = ", ".join(f'<a href="{quote(name)}">{escape(name)}</a>' for name in entry.names)
    plain, first = escape(entry.stem.replace("-", " ")), quote(entry.names[0])
    return (
        f'<li><a class="shown" href="{first}" tabindex="-1" aria-hidden="true">{_shown(entry, drawn)}</a>'
        f"<h3>{plain}</h3><p>{escape(entry.purpose)}</p><p>{links}</p></li>"
    )


def _shown(entry: StemFiles, drawn: Callable[[str], Picture | None]) -> str:
    if entry.picture:
        return f'<img src="{quote(entry.picture)}" alt="" loading="lazy">'
    for name in entry.names:
        made = drawn(name)
        if made is not None:
            kind, content = made
            return f'<img src="data:image/{kind};base64,{b64encode(content).decode()}" alt="">'
    return f"<span>{escape(entry.names[0].rpartition('.')[2].upper())}</span>"


def _parts(parts: Sequence[Mapping[str, str]]) -> list[str]:
    """What is to be made, of what, how much of it and how long that takes."""
    if not parts:
        return []
    lines = [
        "<section>",
        '<h2 id="parts">Parts to make</h2>',
        f"<p>Times are rough; prints {escape(printed_how())}.</p>",
    ]
    lines.append("<dl>")
    for part in parts:
        told = "; ".join(part[key] for key in ("material", "amount", "time") if part[key])
        lines.append(f"<dt>{escape(part['name'])}</dt><dd>{escape(told)}</dd>")
    return [*lines, "</dl>", "</section>"]


def doubts(findings: Sequence[Finding], units: str) -> list[str]:
    """Every doubt in full: how serious, where, the figure against its limit, what to do, whose rule it is."""
    lines = ["<section>", '<h2 id="doubts">Doubts</h2>', "<dl>"]
    for f in findings:
        lines.append(f"<dt>{WORDS[f.severity]} &middot; {escape(finding_head(f, units))}</dt>")
        lines.append(f"<dd>{escape(f.told(units))} <small>[{escape(f.source)}]</small></dd>")
    return [*lines, "</dl>", *([] if findings else ["<p>nothing to doubt</p>"]), "</section>"]
