"""One ask answered: a recipe's text with changes in it becomes a document and triangles, in one run of bytes.

The page and the server pass this on as it is. What is dragged is told at a glance, the rest when the hand stops.
"""

import json
import struct
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bodygen.assessment import Assessment
from bodygen.errors import DesignError, InputError
from bodygen.findings import Finding
from bodygen.pipeline import assess, glance
from bodygen.recipe.changes import changed
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import recipe_from_bytes
from bodygen.report.properties import plain
from bodygen.report.summary import finding_words
from bodygen.serve.answer.drawing import drawing_of
from bodygen.serve.answer.fields import groups_of, key_of_finding
from bodygen.serve.answer.hanging import strands_of
from bodygen.serve.answer.known import Known
from bodygen.serve.answer.paint import paint_of
from bodygen.serve.answer.solid import solid_of
from bodygen.serve.answer.water import water_of
from bodygen.serve.answer.words import care_of, figures_of, refusal_of, scale_of, sentence_of, sentences_of
from bodygen.tables import load

FAINT = ("groups", "findings", "sentences.sureness", "water.righting", "paint", "figures.dive", "figures.others")
"""What a glance does not work out: the page keeps what it has, faint."""

MOST_KEPT = 2_000_000
"""Bytes of an answer that is kept for who asks the same again; one of the demos' has half a million."""


@dataclass(frozen=True, slots=True)
class Answered:
    """What was worked out for an ask: the recipe's text, what is known of it, and that as it is told."""

    text: str
    known: Known
    document: dict[str, Any]
    numbers: bytes


@dataclass(slots=True)
class Warm:
    """What one tab asked last: a glance goes on from it."""

    last: Known | None = None
    text: str = ""
    """Of the recipe that ``last`` is of."""
    told: tuple[object, Answered] | None = None
    """How ``last`` was told, and to what ask."""
    foreseen: tuple[object, Answered] | None = None
    """What was worked out for the ask that comes if the hand goes on as it went, and that ask."""


@dataclass(frozen=True, slots=True)
class Ask:
    """What a page asks: a recipe's text, changes in it, and how much of the answer it wants.

    ``holds``: names of the solid's parts that the page has already.
    """

    ask: int
    text: str
    changes: Mapping[str, str | None]
    file: str
    want: str
    view: str
    section_x_mm: float | None = None
    holds: Sequence[str] = ()


def answer(asked: Ask, warm: Warm, began: float | None = None, pause: Callable[[], None] = lambda: None) -> bytes:
    """The answer, as it goes to the page.

    Parameters
    ----------
    asked : Ask
        ``file`` is the place that messages name, and whose folder holds the files that the recipe names.
    warm : Warm
        Of the tab; changed to what was worked out here.
    began : float, optional
        When the ask came in, by ``time.monotonic`` [s].
    pause : callable
        Called now and then while a whole is worked out, never during a glance; what it raises ends it.
    """
    start = time.monotonic() if began is None else began
    numbers = b""
    document: dict[str, Any] = {"ask": asked.ask, "want": asked.want, "text": asked.text}
    try:
        told = _kept(warm.foreseen, asked) or _worked(asked, warm, pause)
        warm.last, warm.text, warm.told, warm.foreseen = told.known, told.text, (_key(asked), told), None
        document |= {"text": told.text, "refused": None} | told.document
        numbers = told.numbers
    except InputError as error:
        document["refused"] = refusal_of(error.mistakes)
    except DesignError as error:
        message = {"line": 0, "key": error.where, "wrote": "", "message": str(error), "accepted": error.remedy}
        document["refused"] = [message]
    document["answer_ms"] = round(1000 * (time.monotonic() - start), 2)
    content = packed(document, numbers)
    if len(content) > MOST_KEPT:
        warm.told = None
    return content


def foresee(asked: Ask, further: Mapping[str, str | None], warm: Warm) -> None:
    """Work out what a hand asks next, where it makes ``further`` changes; nothing where these would be refused.

    Parameters
    ----------
    asked : Ask
        That was answered last.
    further : mapping
        Values by their keys, as in ``Ask.changes``.
    warm : Warm
        Of the tab.
    """
    warm.foreseen = None
    if warm.told is None or warm.told[0] != _key(asked):  # that was refused
        return
    holds = [part["name"] for part in warm.told[1].document["solid"]["parts"]]
    later = replace(asked, want="glance", changes={**asked.changes, **further}, holds=holds)
    with suppress(InputError, DesignError):
        warm.foreseen = _key(later), _worked(later, warm, lambda: None)


def _key(asked: Ask) -> object:
    """All of an ask that its answer follows from, beside what the tab asked before."""
    seen = (asked.view, asked.section_x_mm, frozenset(asked.holds))
    return asked.want, asked.text, dict(asked.changes), asked.file, seen


def _kept(kept: tuple[object, Answered] | None, asked: Ask) -> Answered | None:
    return kept[1] if kept is not None and kept[0] == _key(asked) else None


def _worked(asked: Ask, warm: Warm, pause: Callable[[], None]) -> Answered:
    text, raw = changed(asked.text, asked.changes)
    recipe = recipe_from_bytes(text.encode(), Path(asked.file), raw=raw)
    if asked.want == "glance" and warm.last is not None:
        known: Known = glance(recipe, warm.last)
        return Answered(text, known, *_told(known, asked, text, lambda: None))
    known = _whole(recipe, warm.last, pause)
    told = _kept(warm.told, asked)
    if told is not None and told.known is known:  # as it was told: to a page that was awaited, or is loaded anew
        return told
    return Answered(text, known, *_told(known, asked, text, pause))


def _whole(recipe: Recipe, last: Known | None, pause: Callable[[], None]) -> Assessment:
    """The assessment; the last one where that is of the same recipe, to the byte of every file that it names."""
    if isinstance(last, Assessment) and last.recipe.source is not None and last.recipe.source == recipe.source:
        return last
    return assess(recipe, pause=pause)


def _told(known: Known, asked: Ask, text: str, pause: Callable[[], None]) -> tuple[dict[str, Any], bytes]:
    recipe = known.recipe
    whole = isinstance(known, Assessment)
    pause()
    strands = strands_of(known)
    solid, buffers = solid_of(known, strands, asked.holds, coarse=not whole)
    findings = known.findings if isinstance(known, Assessment) else ()
    parts: dict[str, Callable[[], Any]] = {
        "groups": lambda: groups_of(text, recipe.units, findings, known.shaped.sizes[0]) if whole else None,
        "findings": lambda: [finding_of(one, recipe.units) for one in findings] if whole else None,
        "figures": lambda: plain(figures_of(known)),
        "sentences": lambda: sentences_of(known),
        "care": lambda: care_of(recipe) if whole else None,
        "scale": lambda: plain(scale_of(known)),
        "drawing": lambda: drawing_of(known, strands, asked.view, asked.section_x_mm),
        "water": lambda: plain(water_of(known)),
        "paint": lambda: paint_of(known) if isinstance(known, Assessment) else None,
    }
    told: dict[str, Any] = {"name": recipe.name, "units": recipe.units, "sentence": sentence_of(known)}
    for name, make in parts.items():
        pause()
        told[name] = make()
    return told | {"faint": [] if whole else list(FAINT), "solid": solid}, buffers


def finding_of(finding: Finding, units: str) -> dict[str, Any]:
    """A doubt as the page shows it: the key that it stands under, the terminal's words, and what is meant by them."""
    about = load("findings")["finding"][finding.code]["what"]
    told = {"key": key_of_finding(finding.where), "text": finding_words(finding, units), "about": about}
    return finding.document(units) | told


def packed(document: Mapping[str, Any], buffers: bytes) -> bytes:
    r"""Length of the JSON, the JSON padded so that what follows begins at a multiple of 4 bytes, and the buffers.

    >>> packed({"ask": 1}, b"1234")
    b'\x0c\x00\x00\x00{"ask":1}   1234'
    """
    told = json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    text = told.encode(errors="backslashreplace")  # half of a surrogate pair becomes an escape of JSON
    text += b" " * (-len(text) % 4)
    return struct.pack("<I", len(text)) + text + buffers


def unpacked(message: bytes) -> tuple[dict[str, Any], bytes]:
    """The document and the buffers of an answer."""
    (length,) = struct.unpack_from("<I", message)
    return json.loads(message[4 : 4 + length]), message[4 + length :]
