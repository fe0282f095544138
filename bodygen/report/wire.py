"""Bent wires and what hangers hold, in words and as JSON. Everything is computed elsewhere."""

from collections.abc import Sequence
from textwrap import wrap
from typing import Any, TypeVar

from bodygen.assessment import Assessment
from bodygen.form.cuts.wired import BentWire, bent_wires
from bodygen.shop.wire.hangers import Hanger, hangers_of, line_pull
from bodygen.tables import load
from bodygen.units import length_text
from bodygen.weights.item import Item

OfFitting = TypeVar("OfFitting", BentWire, Hanger)
WIDTH = 100


def wires_block(a: Assessment) -> list[dict[str, Any]]:
    """``wires`` of properties.json: each bent wire, as it is cut, marked and bent."""
    items = _items(a)
    return [
        {
            "name": wire.name,
            "form": wire.form.kind,
            "wire_mm": wire.form.wire,
            "loop_mm": wire.form.loop,
            "cut_length_mm": wire.form.cut_length,
            "mass_g": items[wire.place].mass,
            "marks_mm": [[mark.start, mark.end] for mark in wire.form.marks],
        }
        for wire in _wires(a)
    ]


def hangers_block(a: Assessment) -> list[dict[str, Any]]:
    """``hangers`` of properties.json: what each holds, and what gives way."""
    return [
        {
            "name": hanger.name,
            "holds_n": None
            if hanger.holds is None
            else {"low": hanger.holds.low, "likely": hanger.holds.likely, "high": hanger.holds.high},
            "by": hanger.why if hanger.holds is None else hanger.holds.by,
        }
        for hanger in _hangers(a)
    ]


def wire_text(a: Assessment) -> list[str]:
    """Lines on what to cut, and on what each hanger holds beside the line; none without either."""
    return [line for told in (*cut_words(a), *holds_words(a)) for line in _wrapped(told)]


def cut_words(a: Assessment, *, forms: bool = False) -> list[str]:
    """What to cut of wire, a sentence for each that has a form; with ``forms`` that is named, too."""
    return [_cut_words(a, wire, forms=forms) for wire in _wires(a)]


def holds_words(a: Assessment) -> list[str]:
    """What each hanger holds, a sentence each; the last one how to try it; none where nothing hangs."""
    hangers = _hangers(a)
    if not hangers:
        return []
    line = line_pull(a.recipe)
    beside = f"the line breaks at {line:.0f} N; " if line is not None else ""
    told = [f"{name}: {words}" for name, words in holds_of(a)]
    return [*told, f"{beside}pulls that break it, once and steady, no promise; {_small(_proof())}"]


def holds_of(a: Assessment) -> list[tuple[str, str]]:
    """Name of each hanger, and what it holds in words."""
    return [(hanger.name, _holds_words(hanger)) for hanger in _hangers(a)]


def _cut_words(a: Assessment, wire: BentWire, *, forms: bool) -> str:
    form, units = wire.form, a.recipe.units
    named = f"{form.kind.replace('_', ' ')}, " if forms else ""
    size = a.recipe.fittings[wire.place].size
    return (
        f"{wire.name}: {named}cut {length_text(form.cut_length, units)} of {size} wire, {len(form.bends)} bends; "
        f"eyes {length_text(form.loop, units)} inside"
    )


def _holds_words(hanger: Hanger) -> str:
    pull = hanger.holds
    if pull is None:
        return f"what it holds is not known: {hanger.why}"
    return f"holds {pull.low:.0f} to {pull.high:.0f} N, likely {pull.likely:.0f}: {pull.by} ({pull.under})"


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _proof() -> str:
    return str(load("holding")["safety"]["proof_pull"])


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _items(a: Assessment) -> dict[int, Item]:
    """Lines of the ledger by the place of their fitting in the recipe."""
    return {item.owner[1]: item for item in a.weighed.items if item.owner and item.owner[0] == "fitting"}


def _wires(a: Assessment) -> list[BentWire]:
    return _from_nose_to_tail(a, bent_wires(a.recipe, a.shaped.tools, a.shaped.caster))


def _hangers(a: Assessment) -> list[Hanger]:
    return _from_nose_to_tail(a, hangers_of(a.recipe, a.shaped.tools, a.weighed.density.g_cm3))


def _from_nose_to_tail(a: Assessment, found: Sequence[OfFitting]) -> list[OfFitting]:
    """By where each weighs, so that the order of the recipe says nothing."""
    items = _items(a)
    return sorted(found, key=lambda one: [round(float(part), 6) for part in items[one.place].at])
