"""A study in a few lines for a screen, and as data for ``study.json``."""

from typing import Any

from bodygen.study.report import words
from bodygen.study.report.shares import Decides, VarianceShare
from bodygen.study.report.told import Rate, StudyTold, decided
from bodygen.study.said.model import Study

MOST_FAILURES, MOST_OFFERS = 5, 5


def text_of(told: StudyTold) -> str:
    """A short summary: what passes, what decides, which rows to look at."""
    lines = [f"{told.study.name}: {words.counts(told)}"]
    if told.search:
        lines += [f"  {line}" for line in told.search.says]
        for offer in told.search.offers[:MOST_OFFERS]:
            lines.append(f"  row {offer.number}")
            lines += [f"    {name}: {got} ({wished})" for name, wished, got in offer.rows]
            lines += [f"    {line}" for line in offer.toml.splitlines()]
            lines.append(f"    {words.take_words(told, offer.number)}")
        if len(told.search.offers) > MOST_OFFERS:
            lines.append(f"  and {len(told.search.offers) - MOST_OFFERS} more on the page")
    if told.rates and told.study.limits:
        lines += [f"  {f'{one.what}: ' if one.what else ''}{words.rate_words(one)}" for one in told.rates]
    lines += [
        f"  {one.count} {'fails' if one.count == 1 else 'fail'} by {one.code}, the first is row {one.first}"
        for one in told.failures[:MOST_FAILURES]
    ]
    lines += [f"  {text}" for text in (words.decides_words(told, figure) for figure in told.figures) if text]
    lines += [f"  {words.take_words(told, one.number)}   ({one.why})" for one in told.looks]
    return "\n".join(lines)


def document_of(told: StudyTold) -> dict[str, Any]:
    """The same as data; a rate or a share that is not told is null, its interval stays."""
    document: dict[str, Any] = {
        "passed": told.passed if told.study.limits else None,
        "limits": [
            {
                "figure": one.limit.figure,
                "least": one.limit.least,
                "most": one.limit.most,
                "outside": one.outside,
                "of": one.of,
            }
            for one in told.limits
        ],
        "pass_rate": _rate(told.rates[0]) if told.rates else None,
        "boards": [{"name": one.what} | _rate(one) for one in told.rates[1:]],
        "figures": [
            {"figure": one.column, "designs": len(one.values)}
            | dict(zip(("p10", "p50", "p90"), one.p or 3 * (None,), strict=True))
            for one in told.figures
        ],
        "decides": [
            {"figure": figure.column, "shares": [_decides(told.study, one) for one in decided(told, figure.column)]}
            for figure in told.figures
            if decided(told, figure.column)
        ],
        "rows_to_look_at": [{"row": one.number, "why": one.why} for one in told.looks],
    }
    if told.search:
        document["search"] = {
            "says": list(told.search.says),
            "offers": [{"row": one.number, "rounded_from": one.exact, "toml": one.toml} for one in told.search.offers],
            "front": list(told.search.front),
        }
    return document


def _rate(one: Rate) -> dict[str, Any]:
    share = one.passed / one.of if one.told else None
    return {"passed": one.passed, "of": one.of, "share": share, "low": one.low, "high": one.high}


def _decides(study: Study, one: Decides) -> dict[str, Any]:
    both = {"varied": words.varied_name(study, one.varied).removeprefix("the "), "alone": _share(one.alone)}
    return both | ({"all_in_all": _share(one.all_in_all)} if one.all_in_all else {})


def _share(one: VarianceShare) -> dict[str, Any]:
    return {"share": one.value if one.told else None, "low": one.low, "high": one.high}
