"""``[goal]``: how the maker wants it to lie; which wishes go together, and what may be used.

Knows wishes. Knows nothing of whether they can be had (``ballast/``).
"""

from bodygen import tables
from bodygen.recipe.model import Goal, Waterline
from bodygen.recipe.readers.bores import drill_size
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name

LIFTS = ("reserve", "suspends_at", "sinks_at", "rises_at")


def read_goal(ctx: ReadContext, values: Values) -> Goal:
    """Make the goal; wishes that cannot both be had are noted."""
    lifts = [key for key in LIFTS if key in values]
    for key in lifts[1:]:
        ctx.fault(f"goal.{key}", f"goal.{lifts[0]} says how much lift already.", f"one of {', '.join(LIFTS)}")
    if lifts and "pitch" in values and "waterline" in values:
        accepted = f"two of {lifts[0]}, pitch and waterline"
        ctx.fault("goal.waterline", "lift and pitch say where the water stands already.", accepted)
    _check_float(ctx, values)
    metals = tables.load("metals")["metal"]
    if "metal" in values and values["metal"] not in metals:
        no_such_name(ctx, "goal.metal", values["metal"], tuple(metals))
    drills = [drill_size(ctx, f"goal.drills[{n}]", raw) for n, raw in enumerate(values.get("drills", ()), start=1)]
    rest = {key: value for key, value in values.items() if key not in {"float", "waterline", "drills"}}
    line = values.get("waterline")
    waterline = Waterline(**line) if line is not None and len(line) == 2 else None
    state = values.get("float")
    return Goal(**rest, state=state, waterline=waterline, drills=tuple(d for d in drills if d is not None))


def _check_float(ctx: ReadContext, values: Values) -> None:
    """Hold what it is called against the lift it is to have."""
    state = values.get("float")
    reserve = values.get("reserve")
    against = {
        "floats": ("suspends_at", "sinks_at") + (("reserve",) if reserve is not None and reserve <= 0 else ()),
        "suspends": ("sinks_at", "rises_at") + (("reserve",) if reserve else ()),
        "sinks": ("suspends_at", "rises_at") + (("reserve",) if reserve is not None and reserve >= 0 else ()),
    }
    for key in against.get(state, ()) if state else ():
        if key in values:
            ctx.fault(f"goal.{key}", f'does not go with float = "{state}".')
