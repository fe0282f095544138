"""What was asked on the command line, read as ``[goal]`` is read, and laid over the recipe's own goal.

Knows option names. Knows nothing of what can be had.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from bodygen.errors import InputError, Mistake
from bodygen.recipe.goal import LIFTS, read_goal
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.model import Goal, Recipe
from bodygen.recipe.page import Page, read_table

OPTIONS = {
    "reserve": "reserve",
    "suspends": "suspends_at",
    "sinks": "sinks_at",
    "rises": "rises_at",
    "pitch": "pitch",
    "bores": "bores",
    "metal": "metal",
}
WISHES = (*LIFTS, "pitch", "waterline")


def asked(
    recipe: Recipe,
    options: Mapping[str, str | None],
    waterline: Sequence[str] | None = None,
    drills: Sequence[str] | None = None,
) -> Goal:
    """Read the goal of a command line.

    Parameters
    ----------
    recipe : Recipe
        Its units, and its own goal. A wish on the command line takes the place of all its wishes; ``bores``, ``metal``
        and ``drills`` each take the place of its own.
    options : Mapping[str, str or None]
        ``OPTIONS`` by name, as written; None where it was not given.
    waterline : two texts, or None
        Station and height.
    drills : texts, or None
        As sold.

    Raises
    ------
    InputError
        Everything that cannot be read, or cannot be had together; or no wish at all.
    """
    raw: dict[str, object] = {OPTIONS[name]: text for name, text in options.items() if text is not None}
    if waterline is not None:
        raw["waterline"] = dict(zip(("x", "height"), waterline, strict=False))
    if drills:
        raw["drills"] = list(drills)
    page = Page("command line", Path(), {}, units=recipe.units)
    values = read_table(page, "goal", raw, RECIPE["goal"].table)
    wished = read_goal(page, values)
    if page.mistakes:
        raise InputError([_on_command_line(m, options) for m in page.mistakes])
    given = recipe.goal or Goal()
    ways = {key: getattr(wished, key) for key in ("bores", "metal") if getattr(wished, key) is not None}
    if wished.drills:
        ways["drills"] = wished.drills
    if any(getattr(wished, wish) is not None for wish in WISHES):
        given = replace(given, state=None, **{wish: getattr(wished, wish) for wish in WISHES})
    goal = replace(given, **ways)
    if goal.state != "suspends" and all(getattr(goal, wish) is None for wish in WISHES):
        accepted = (
            'one of --reserve "2 g", --suspends "12 degC", --sinks "0.1 m/s", --rises, --pitch, --waterline; or [goal]'
        )
        raise InputError([Mistake("command line", 0, "", "", "nothing is asked for.", accepted)])
    return goal


def _on_command_line(mistake: Mistake, options: Mapping[str, str | None]) -> Mistake:
    """Word a mistake by the option it is in."""
    key = mistake.key.removeprefix("goal.")
    name = next((option for option, other in OPTIONS.items() if other == key), key)
    return replace(mistake, line=0, key=f"--{name}", written=f'"{options[name]}"' if options.get(name) else "")
