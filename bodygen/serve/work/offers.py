"""Offers for a bait on the page: which ballast, which lip for a depth, what to do after the tub; as by the commands.

Each comes with the changes that put it into the recipe, as the page writes changes.
"""

from collections.abc import Callable, Iterable, Mapping
from math import degrees
from pathlib import Path
from typing import Any

from bodygen.ballast.goal import OPTIONS as BALLAST
from bodygen.ballast.goal import asked
from bodygen.dive.asked import OPTIONS as DIVE
from bodygen.diving import estimate_dive
from bodygen.errors import InputError, Mistake
from bodygen.log.entry import scale_readings
from bodygen.log.store import builds, log_beside
from bodygen.pipeline import assess, solve_ballast
from bodygen.recipe.about import toml
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import parse_recipe
from bodygen.report.ballast import offered as ballast_offered
from bodygen.report.dive import estimate_text, is_not
from bodygen.report.dive_answer import aimed_text, lip_words
from bodygen.report.summary import finding_head
from bodygen.report.trim import advised, cautions_of, seen_text
from bodygen.trim.readings import OPTIONS as TUB
from bodygen.trimming.floated import trim_bait

Said = Mapping[str, str]
DEPTHS = ("low", "high")
GOES_ON = "    "
"""Indent of a line that goes on with the sentence above."""


def offers_for(kind: str, text: str, file: str, said: Said) -> dict[str, Any]:
    """Offers of a kind: "ballast", "dive", "lip" or "trim".

    Parameters
    ----------
    text, file : str
        The recipe, and where it lies: its log is looked for there.
    said : Mapping[str, str]
        What is asked for, in the command's words: ``reserve``, ``low``, ``nose`` and the like.

    Raises
    ------
    InputError, DesignError
        As the command.
    """
    recipe = parse_recipe(text, file)
    return KINDS[kind](recipe, file, {name: value for name, value in said.items() if value.strip()})


def written(changes: Mapping[str, object | None]) -> dict[str, str | None]:
    """Changes as the page posts them: what a person would write.

    >>> written({"bore[1].depth": "9 mm", "bore[2].mirror": True, "bore[3]": None, "bore[4]": {"x": 3.0}})
    {'bore[1].depth': '9 mm', 'bore[2].mirror': 'true', 'bore[3]': None, 'bore[4]': '{ x = 3.0 }'}
    """
    return {
        key: value if value is None or isinstance(value, str) else toml(_plain(value)) for key, value in changes.items()
    }


def _joined(lines: Iterable[str]) -> list[str]:
    """Sentences of a terminal's lines, without its indents: a page has its own width.

    >>> _joined(["What it is", "", "  drawn home at 1 m/s, rod tip 1 m", "    above the water"])
    ['What it is', 'drawn home at 1 m/s, rod tip 1 m above the water']
    """
    told: list[str] = []
    for line in lines:
        if line.startswith(GOES_ON) and told:
            told[-1] += f" {line.strip()}"
        elif line.strip():
            told.append(line.strip())
    return told


def _plain(value: object) -> object:
    """The same in Python's own types."""
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items() if one is not None}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def _ballast(recipe: Recipe, file: str, said: Said) -> dict[str, Any]:
    del file
    drills = said.get("drills", "").replace(",", " ").split() or None
    goal = asked(recipe, {name: said.get(name) for name in BALLAST}, None, drills)
    solution = solve_ballast(recipe, goal)
    offers = []
    for number, offer in enumerate(solution.offers, 1):
        title, *sentences = _joined(ballast_offered(number, offer, recipe.units))
        offers.append({
            "title": title,
            "sentences": sentences,
            "changes": written(offer.changes),
            "met": offer.met,
            "predicted": {
                "mass_g": offer.mass_g,
                "reserve_g": offer.reserve_g,
                "pitch_deg": offer.pitch_deg,
                "scale_g": offer.scale_g,
            },
        })
    sentences = [
        f"{found.severity}, {finding_head(found, recipe.units)}: {found.told(recipe.units)} [{found.source}]"
        for found in solution.findings
    ]
    return {"sentences": sentences, "offers": offers}


def _dive(recipe: Recipe, file: str, said: Said) -> dict[str, Any]:
    history = builds(log_beside(Path(file)))
    wanted = _both_depths(said)
    how: Any = said["how"] if said.get("how") in {"tow", "retrieve"} else None
    assessment = assess(recipe)
    found = estimate_dive(assessment, {name: said.get(name) for name in DIVE}, how, history, (), wanted)
    water = assessment.flotation.water_g_cm3
    sentences = _joined(estimate_text(found.estimate, recipe.units, water))
    sentences += [] if wanted else ["Say between which two depths it is to run, and what does that is told."]
    offers = []
    if found.aimed is not None:
        head = [line.strip() for line in aimed_text(found.aimed, recipe.units) if line.startswith("  NO")]
        sentences += head
        for number, offer in enumerate(found.aimed.offers, 1):
            words = lip_words(offer, recipe.units)
            depth, running = offer.estimate.depth, offer.estimate.runs.running
            if words is None or depth is None or running is None:
                continue  # of which the terminal tells nothing either
            offers.append({
                "title": f"{number}. {words[0]}",
                "sentences": [words[1]],
                "changes": written(offer.changes),
                "met": offer.met,
                "predicted": {
                    "depth_m": [depth.low, depth.likely, depth.high],
                    "pitch_deg": degrees(running.pitch),
                },
            })
    return {"sentences": [*sentences, is_not()], "offers": offers}


def _both_depths(said: Said) -> list[str]:
    """The least and the most that are wanted, as written; empty where neither is."""
    wanted = [said[name] for name in DEPTHS if name in said]
    if len(wanted) == 1:
        (left,) = (name for name in DEPTHS if name not in said)
        raise InputError([Mistake("command line", 0, f"--{left}", "", "say both, from and to.", 'such as "1.5 m"')])
    return wanted


def _lip(recipe: Recipe, file: str, said: Said) -> dict[str, Any]:
    """The same by the lip alone: no offer that moves a tie."""
    told = _dive(recipe, file, said)
    lips = [one for one in told["offers"] if all(key.startswith("lip.") for key in one["changes"])]
    return told | {"offers": lips}


def _trim(recipe: Recipe, file: str, said: Said) -> dict[str, Any]:
    del file
    weighed, _ = scale_readings([said["weighed"]] if "weighed" in said else [])
    found = trim_bait(recipe, {name: said.get(name) for name in TUB}, weighed)
    offers = [
        {
            "title": f"{number}. {one.change.what}",
            "sentences": advised(one, found),
            "changes": written(one.change.changes),
            "met": one.met,
            "predicted": {"nose_deg": one.nose_deg, "lean_deg": one.lean_deg, "spare_g": one.spare_g},
        }
        for number, one in enumerate(found.advice, 1)
    ]
    care = cautions_of(found.advice) if found.advice else []
    return {"sentences": [*_joined(seen_text(found)), *care], "offers": offers}


KINDS: Mapping[str, Callable[[Recipe, str, Said], dict[str, Any]]] = {
    "ballast": _ballast,
    "dive": _dive,
    "lip": _lip,
    "trim": _trim,
}
