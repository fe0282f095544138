"""What the scale and the tub said, written into the bench log beside a recipe, as ``bodygen log`` does."""

from dataclasses import fields
from pathlib import Path
from typing import Any

from bodygen.diving import tell_test
from bodygen.log import entry, learned, listing, store
from bodygen.pipeline import assess
from bodygen.recipe.read import parse_recipe
from bodygen.weights.expected import expectations

WORDS = frozenset(field.name for field in fields(entry.Words)) - {"weighed", "remark", "build"}


def booked(text: str, file: str, said: dict[str, Any]) -> dict[str, Any]:
    """Write down what is said, and tell what was written and what the log taught.

    Parameters
    ----------
    said : dict
        ``weighed``, a mass for each stage, a text; ``remark``; else the words of ``entry.Words``, each a text.

    Raises
    ------
    InputError
        Whatever of it cannot be read.
    """
    recipe = parse_recipe(text, file)
    path = store.log_beside(Path(file))
    plain: dict[str, Any] = {
        name: value for name, value in said.items() if name in WORDS and isinstance(value, str) and value.strip()
    }
    if "start" in said and isinstance(said["start"], str):
        plain["start"] = said["start"]
    weighed = said["weighed"]
    remark = said.get("remark")
    words = entry.Words(
        weighed=[f"{stage}={mass}" for stage, mass in weighed.items() if str(mass).strip()],
        remark=[remark] if isinstance(remark, str) and remark.strip() else [],
        **plain,
    )
    assessment = assess(recipe)
    expected = expectations(assessment.recipe, assessment.measured)
    sentences = []
    if words.says_anything:
        sentences = entry.book(path, recipe, words, lambda: expected, lambda test: tell_test(assessment, test))
    everything, damage = store.read(path)
    mine = [one for one in everything if one.recipe == recipe.name]
    taught = learned.learned(everything, expected, recipe.name, mine[-1].board if mine else "")
    told = listing.listing(recipe.name, mine, taught, recipe.units).splitlines()
    return {"sentences": [*sentences, *map(str, damage)], "log": told}
