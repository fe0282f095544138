"""``[fitting.bent]``: a wire's form; which keys go with which, and what it goes into.

Knows sizes of wire, bores and wire slots by their names. Knows nothing of where they lie (``form/cuts/wired.py``).
"""

from math import degrees

from bodygen import tables
from bodygen.recipe.model import Bent, Bore, TrialBend, WireSlot
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name

GOES_WITH = {
    "belly_hanger": ("leg",),
    "line_tie": ("leg",),
    "twisted_hanger": ("leg", "turns"),
    "through_wire": ("kerf", "height", "start", "eye_at", "tail"),
}
ALWAYS = ("form", "loop", "radius", "trial_bend")
LEAST_STAYS = 0.5
"""Of a trial bend: what opens farther was not bent round its pin, or is no wire [-]."""
HOLDS_WIRE = ("hanger", "tie", "through", "any")
"""Kinds of bores that a hanger's legs go into."""


def wire_diameter(size: str) -> float:
    """Diameter of a wire by its label [mm].

    Examples
    --------
    >>> wire_diameter("0.041 in"), wire_diameter("1 mm")
    (1.0414, 1.0)
    """
    return _sizes()[size]


def read_bent(
    ctx: ReadContext, path: str, values: Values, bores: tuple[Bore, ...], slots: tuple[WireSlot, ...]
) -> Bent | None:
    """Make a fitting's form out of its ``bent`` table, size and place; None where a mistake stands in the way."""
    bent, before = dict(values["bent"]), len(ctx.mistakes)
    form, inside = bent.get("form"), f"{path}.bent"
    _check_wire(ctx, path, values)
    if form is None or "size" not in values:
        return None
    for key in bent:
        if key not in (*ALWAYS, *GOES_WITH[form]):
            ctx.fault(f"{inside}.{key}", f'does not go with form = "{form}".', ", ".join((*ALWAYS, *GOES_WITH[form])))
    if form == "through_wire":
        _kerf(ctx, path, bent, slots)
    else:
        _bore_of(ctx, path, values, bores)
    if values["size"] in _sizes():
        _loop(ctx, f"{inside}.loop", bent, values["size"])
    else:
        if not any(mistake.key == f"{path}.size" for mistake in ctx.mistakes):
            ctx.fault(f"{path}.size", "nobody knows how thick this wire is.", ", ".join(_sizes()))
        return None
    if "trial_bend" in bent:
        bent["trial_bend"] = _trial(ctx, f"{inside}.trial_bend", bent["trial_bend"], values["size"])
    return Bent(**bent) if len(ctx.mistakes) == before else None


def _trial(ctx: ReadContext, path: str, trial: Values, size: str) -> TrialBend | None:
    """Hold a trial bend to what a wire can do: it opens when it is let go, and its pin is no thinner than itself."""
    if not {"pin", "bent_to", "stays"} <= trial.keys():
        return None
    made, wire = TrialBend(**trial), wire_diameter(size)
    if made.pin < wire:
        ctx.fault(f"{path}.pin", "thinner than the wire.", f"{ctx.length_text(wire)} or more")
    low, high = degrees(LEAST_STAYS * made.bent_to), degrees(made.bent_to)
    if not low <= degrees(made.stays) < high:
        more = degrees(made.stays) >= high
        problem = "not less than bent_to: a wire springs back." if more else "less than half of bent_to: none opens so."
        ctx.fault(f"{path}.stays", problem, f"from {low:.3g} to less than {high:.3g} deg")
    return made


def _check_wire(ctx: ReadContext, path: str, values: Values) -> None:
    """Hold the fitting to a wire of a known size whose length nobody told."""
    if values["kind"] != "wire":
        ctx.fault(f"{path}.bent", f'does not go with kind = "{values["kind"]}".', 'kind = "wire"')
    if "length" in values:
        ctx.fault(f"{path}.length", "the form says how long the wire is.", "leave length out, or bent")
    if "size" not in values and f"{path}.size" not in ctx.written:
        ctx.missing(f"{path}.size", "how thick the wire is that is bent: " + ", ".join(_sizes()))


def _loop(ctx: ReadContext, path: str, bent: Values, size: str) -> None:
    """Hold the eyes' inside against the wire; left out, it is the usual [mm]."""
    loop = bent.setdefault("loop", float(tables.load("wire")["form"]["loop_mm"]))
    wire = wire_diameter(size)
    least, most = (share * wire for share in tables.load("wire")["form"]["loop_range_d"])
    if not least <= loop <= most:
        problem = "narrower than the wire." if loop < least else "too wide for this wire."
        ctx.fault(path, problem, f"{ctx.length_text(least)} to {ctx.length_text(most)} for wire of {size}")


def _sizes() -> dict[str, float]:
    """Sizes of wire by their label [mm]."""
    row = tables.load("hardware")["wire"]
    return {f"{r['inch']:g} in": r["mm"] for r in row["sizes"]} | {f"{mm:g} mm": mm for mm in row["metric_mm"]}


def _kerf(ctx: ReadContext, path: str, bent: Values, slots: tuple[WireSlot, ...]) -> None:
    """Hold a through-wire to a kerf."""
    names = tuple(slot.name for slot in slots)
    for key in ("at", "on"):
        if f"{path}.{key}" in ctx.written:
            ctx.fault(f"{path}.{key}", "does not go with a through-wire, which lies in its kerf.", "bent.kerf")
    if "kerf" in bent and bent["kerf"] not in names:
        no_such_name(ctx, f"{path}.bent.kerf", bent["kerf"], names, "a [[wire_slot]] of that name")
    elif "kerf" not in bent and len(names) != 1:
        ctx.missing(f"{path}.bent.kerf", ", ".join(names) if names else "a [[wire_slot]] that it lies in")
    else:
        bent.setdefault("kerf", names[0])


def _bore_of(ctx: ReadContext, path: str, values: Values, bores: tuple[Bore, ...]) -> None:
    """Hold a hanger or tie to a bore that takes a wire."""
    takes = tuple(bore.name for bore in bores if bore.kind in HOLDS_WIRE)
    if f"{path}.at" in ctx.written:
        ctx.fault(f"{path}.at", "a bent hanger goes into a bore.", f"on = {', '.join(takes) or 'a bore for it'}")
    elif values.get("on") in {bore.name for bore in bores} - set(takes):
        ctx.fault(f"{path}.on", "no wire goes into this bore.", ", ".join(takes) or "a bore of kind hanger or tie")
