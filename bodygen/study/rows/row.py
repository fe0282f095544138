"""One design becomes one row: the recipe changed, assessed, its kept figures picked. A bad design is a row, too."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from bodygen.assessment import Assessment
from bodygen.errors import DesignError, InputError
from bodygen.pipeline import assess
from bodygen.recipe.changes import changed_text
from bodygen.recipe.read import parse_recipe
from bodygen.report.properties import DIGITS, properties
from bodygen.study.said.kept import follow
from bodygen.study.said.model import Column, Design, Row, Study, Value
from bodygen.study.said.written import value_of
from bodygen.units import is_number

HEAD = ("number", "seed", "board")
TAIL = ("state", "findings", "failed", "where", "why")


def recipe_text(study: Study, design: Design) -> str:
    """Write the recipe of a design: the study's own, comments kept, with the design's changes in it."""
    return changed_text(study.text, dict(design.changes))


def files_named(text: str, recipe: Path) -> list[Path]:
    """Find the stations or the mesh that a recipe's text, of the file ``recipe``, names."""
    shape = tomllib.loads(text)["shape"]
    return [recipe.parent / shape[key] for key in ("stations", "mesh") if key in shape]


def row_of(study: Study, design: Design) -> Row:
    """Work out a design.

    Parameters
    ----------
    study : Study
    design : Design

    Returns
    -------
    Row
        A design that reads badly, that no sound body can be made of, or that bodygen itself fails at, is a row with
        ``failed`` (a code), ``where`` and ``why``; so is one that breaks a rule of severity error, with its figures.
    """
    row = head_of(study, design)
    try:
        recipe = parse_recipe(recipe_text(study, design), study.recipe, allow_outside=study.allow_outside)
        a = assess(recipe)
        return row | _figures(study, a) | _told(a)
    except InputError as error:
        mistake = error.mistakes[0]
        said = " ".join(filter(None, (mistake.problem, mistake.accepted)))
        return failed_row(study, design, "mistake", mistake.key, said)
    except DesignError as error:
        code = str(error.findings[0]["code"]) if error.findings else "no-sound-body"
        return failed_row(study, design, code, error.where, error.remedy or str(error))
    except Exception as error:  # noqa: BLE001  one strange design must not stop ten thousand
        return failed_row(study, design, "fault", "", f"{type(error).__name__}: {error}")


def failed_row(study: Study, design: Design, code: str, where: str, why: str) -> Row:
    """Make the row of a design without figures."""
    nothing: Row = {column.name: None for column in study.columns}
    return head_of(study, design) | nothing | {
        "state": None, "findings": code, "failed": code, "where": where, "why": " ".join(why.split())
    }  # fmt: skip


def head_of(study: Study, design: Design) -> Row:
    """Give what is known of a design before it is worked out."""
    changes = dict(design.changes)
    head: Row = {"number": design.number, "seed": study.seed, "board": design.board}
    return head | {one.column: value_of(one, changes[one.key]) for one in study.varied}


def _figures(study: Study, a: Assessment) -> Row:
    document = properties(a)
    return {column.name: _picked(document, column) for column in study.columns}


def _picked(document: dict[str, Any], column: Column) -> Value:
    """Follow a column's path; None where this design has no such figure."""
    value: Any = document
    try:
        for step in column.steps:
            value = follow(value, step)
    except (KeyError, IndexError, TypeError):
        return None
    if column.kind == "number" and (is_number(value) or isinstance(value, np.number)):
        return float(f"{float(value):.{DIGITS}g}") + 0.0
    if column.kind == "flag" and isinstance(value, bool | np.bool_):
        return bool(value)
    return str(value) if column.kind == "text" and value is not None else None


def _told(a: Assessment) -> Row:
    """How it floats, and what is doubted, the most serious first."""
    wrong = next((one for one in a.findings if one.severity == "error"), None)
    return {
        "state": a.flotation.state,
        "findings": " ".join(dict.fromkeys(one.code for one in a.findings)),
        "failed": wrong.code if wrong else None,
        "where": wrong.where if wrong else None,
        "why": wrong.told(a.recipe.units) if wrong else None,
    }
