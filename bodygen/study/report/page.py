"""``report.html``: a study as a page that needs no network, no script and no other file.

Every text is escaped, as names of studies, boards and recipes are anybody's.
"""

from collections.abc import Iterator, Sequence
from html import escape
from itertools import combinations

import numpy as np

from bodygen.recipe.read import parse_recipe
from bodygen.report.overview.entries import listed
from bodygen.report.overview.frame import care, framed
from bodygen.report.overview.page import files_listed
from bodygen.report.sheet import caution_keys
from bodygen.study.report import charts, words
from bodygen.study.report.style import STYLE
from bodygen.study.report.told import FigureTold, SearchTold, StudyTold, decided
from bodygen.tables import load
from bodygen.version import VERSION

GROUND = "Figures are worked out, of baits that nobody has made yet: weigh and float the first."
MOST_PLOTS = 3
"""Pairs of wishes that are drawn against each other."""


def page_of(told: StudyTold, files: Sequence[str]) -> str:
    """Write the page.

    Parameters
    ----------
    told : StudyTold
    files : sequence of str
        Names of the files beside it.
    """
    study = told.study
    body = [
        "<header>",
        f"<h1>{escape(study.name)}</h1>",
        f"<p>A study of {escape(study.recipe.name)}: {escape(words.counts(told))}.</p>",
        "</header>",
        "<main>",
        *_asked(told),
        *(_searched(told, told.search) if told.search else []),
        *_rates(told),
        *_failures(told),
        *_decided(told),
        *_figures(told),
        *_looks(told),
        *files_listed(listed("Files of this folder", files)),
        *care(caution_keys(parse_recipe(study.text, study.recipe, allow_outside=study.allow_outside))),
        "</main>",
        f"<footer><p class='faint'>bodygen {VERSION}, seed {study.seed}. {GROUND}</p></footer>",
    ]
    return framed(study.name, body, STYLE)


def _asked(told: StudyTold) -> list[str]:
    study = told.study
    how = f"Designs are {words.HOW[study.plan.how]}." if study.plan else "Designs are those that a search tried."
    return [
        "<section>",
        '<h2 id="asked">What was asked</h2>',
        "<ul>",
        *(f"<li>{escape(line)}</li>" for line in words.asked(study)),
        "</ul>",
        f"<p>{escape(how)}</p>",
        "<h3>What is taken for granted</h3>",
        "<ul>",
        *(f"<li>{escape(line)}</li>" for line in words.granted(study)),
        "</ul>",
        "</section>",
    ]


def _searched(told: StudyTold, search: SearchTold) -> Iterator[str]:
    yield "<section>"
    yield '<h2 id="found">What was found</h2>'
    yield from (f"<p>{escape(line)}</p>" for line in search.says)
    made = told.results.passed(told.study)
    place = {int(number): i for i, number in enumerate(told.results.numbers)}
    pairs = list(combinations(search.wishes, 2))[:MOST_PLOTS]
    if pairs:
        yield '<div class="charts">'
    for one, other in pairs:
        dots = np.array([one.values, other.values]).T
        front = dots[[place[number] for number in search.front]].reshape(-1, 2)
        rows = [(offer.number, dots[place[offer.number]]) for offer in search.offers]
        offers = [(str(number), float(dot[0]), float(dot[1])) for number, dot in rows]
        front = front[np.argsort(front[:, 0], kind="stable")]
        seen = dots[made & np.all(np.isfinite(dots), axis=1)]
        names = [f"{w.label} [{w.unit}]" if w.unit else w.label for w in (one, other)]
        yield f"<figure>{charts.scatter(names[0], names[1], seen, front, offers)}"
        said = "Dots are designs within the limits; the line joins those that no other betters; rings are offered."
        yield f"<figcaption>{said}</figcaption></figure>"
    if pairs:
        yield "</div>"
    yield from _front(search) if len(search.offers) > 1 else []
    for offer in search.offers[:1] if len(search.offers) == 1 else []:
        yield f'<h3 id="row-{offer.number}">Row {offer.number}</h3>'
        yield from _table(("figure", "wished", "got"), offer.rows)
        yield f"<pre>{escape(offer.toml)}</pre>"
    for offer in search.offers[:1]:
        command = escape(words.take_words(told, offer.number))
        yield f"<p>The recipe of row {offer.number}: <code>{command}</code></p>"
    yield "</section>"


def _front(search: SearchTold) -> Iterator[str]:
    """Every design offered as a row: its figures, and what to write for it."""
    first = search.offers[0]
    names = dict.fromkeys(name for name, _, _ in first.rows)
    wished = [f"{name}: {'; '.join(w for n, w, _ in first.rows if n == name)}" for name in names]
    rows = [
        (str(offer.number), *(next(got for n, _, got in offer.rows if n == name) for name in names), offer.toml)
        for offer in search.offers
    ]
    yield from _table(("row", *wished, "to write"), rows, coded=True)


def _rates(told: StudyTold) -> list[str]:
    if not told.rates or not told.study.limits:
        return []
    first, *boards = told.rates
    percent = f"{100 * load('study')['told']['confidence']:.0f} %"
    lines = ["<section>", '<h2 id="pass">How many pass</h2>', f"<p>{escape(words.rate_words(first))}.</p>"]
    outside = [f"{words.limit_words(one.limit)}: {one.outside} of {one.of} miss it" for one in told.limits]
    lines += ["<ul>", *(f"<li>{escape(line)}</li>" for line in outside), "</ul>"]
    if boards:
        rows = [(one.what, one.passed / one.of if one.told else None, one.low, one.high) for one in boards]
        lines.append(f"<figure>{charts.intervals(rows, 'designs that pass, of 100')}")
        grid = told.study.plan is not None and told.study.plan.how == "grid"
        said = "" if grid else f"Lines are the {percent} interval (Wilson's score interval)."
        lines.append(f"<figcaption>{said}</figcaption></figure>")
        lines += _table(("board", "passes"), [(one.what, words.rate_words(one)) for one in boards])
    chance = told.study.plan is not None and told.study.plan.how == "monte_carlo"
    if not chance:
        lines.append(
            "<p class='faint'>The rate is of the ranges as they were laid out, each value as often as another: "
            "how many of real pieces pass depends on how these vary on the bench.</p>"
        )
    return [*lines, "</section>"]


def _failures(told: StudyTold) -> list[str]:
    if not told.failures:
        return []
    rows = [(one.code, str(one.count), words.failure_words(one.code), str(one.first)) for one in told.failures]
    head = ["<section>", '<h2 id="failed">What cannot be made</h2>']
    return [*head, *_table(("finding", "designs", "what it means", "first row"), rows), "</section>"]


def _decided(told: StudyTold) -> list[str]:
    said = [(figure, words.decides_words(told, figure)) for figure in told.figures]
    said = [(figure, text) for figure, text in said if text]
    if not said:
        return []
    lines = ["<section>", '<h2 id="decides">What decides a figure</h2>', '<div class="charts">']
    for figure, text in said:
        lines.append(f"<figure>{_shares(told, figure)}<figcaption>{escape(text)}</figcaption></figure>")
    percent = f"{100 * load('study')['told']['confidence']:.0f} %"
    return [*lines, "</div>", f"<p class='faint'>{escape(_ground(told, percent))}</p>", "</section>"]


def _ground(told: StudyTold, percent: str) -> str:
    """By which rule shares are told."""
    if told.study.plan is not None and told.study.plan.base:
        return (
            "Sobol' indices: the part of a figure's variance that one thing decides by itself, and with its part in "
            "what several do together (Saltelli et al. 2010). "
            f"Lines are the {percent} interval by bootstrap, for the ranges that were asked."
        )
    together = "What several do only together is in none of them"
    if all(one.alone.low == one.alone.high for one in told.decides):
        return f"The part of a figure's variance over these very values that each thing explains by itself. {together}."
    return (
        "The part of a figure's variance that the classes of one thing explain (Plischke et al. 2013), chance taken "
        f'off (Kelley 1935). {together}; a plan of how = "sobol" with sensitivities = true tells it. '
        f"Lines are the {percent} interval by the noncentral F distribution (Steiger 2004), for the ranges asked."
    )


def _shares(told: StudyTold, figure: FigureTold) -> str:
    rows = [
        (
            words.varied_name(told.study, one.varied),
            one.alone.value if one.alone.told else None,
            one.alone.low,
            one.alone.high,
        )
        for one in decided(told, figure.column)
    ]
    return charts.intervals(rows, f"% of the {figure.label}")


def _figures(told: StudyTold) -> list[str]:
    lines = ["<section>", '<h2 id="figures">How the figures fall out</h2>', '<div class="charts">']
    for one in told.figures:
        said = escape(words.figure_words(one, sample=told.sample))
        if one.counts:
            ends = [v for k in told.study.limits if k.column == one.column for v in (k.least, k.most) if v is not None]
            drawn = charts.histogram(one.label, one.unit, one.edges, one.counts, ends, one.p or ())
            lines.append(f"<figure>{drawn}<figcaption>{said}</figcaption></figure>")
        else:
            lines.append(f"<p>{said}</p>")
    ticks = " Ticks below: p10, p50, p90." if told.sample else " Where a search looks often is no odds."
    note = f"Of the designs that can be made. Dashed: limits.{ticks}"
    return [*lines, "</div>", f"<p class='faint'>{note}</p>", "</section>"]


def _looks(told: StudyTold) -> list[str]:
    head = ["<section>", '<h2 id="take">Any row as a recipe</h2>']
    rows = [(str(one.number), one.why, words.take_words(told, one.number)) for one in told.looks]
    table = _table(("row", "why", "its recipe"), rows, coded=True) if rows else []
    return [
        *head,
        *table,
        f"<p>Any other: <code>{escape(words.take_words(told, 'ROW'))}</code></p>",
        "</section>",
    ]


def _table(names: Sequence[str], rows: Sequence[Sequence[str]], *, coded: bool = False) -> list[str]:
    """A table; of one that is ``coded`` the last column is to copy, and on a phone each row a short list."""
    head = "".join(f"<th{' role=columnheader' * coded}>{escape(name)}</th>" for name in names)
    what = ' class="coded" role="table"' if coded else ""  # a table that is laid out as a list is none without roles
    lines = [f'<div class="wide"><table{what}><thead><tr{" role=row" * coded}>{head}</tr></thead><tbody>']
    for row in rows:
        cells = [f"<td>{escape(cell)}</td>" for cell in row]
        if coded:
            cells = [
                f'<td role="cell" data-name="{escape(name)}">{escape(cell)}</td>'
                for name, cell in zip(names, row, strict=True)
            ]
            cells[-1] = f'<td role="cell"><code>{escape(row[-1])}</code></td>'
        lines.append(f"<tr{' role=row' * coded}>" + "".join(cells) + "</tr>")
    return [*lines, "</tbody></table></div>"]
