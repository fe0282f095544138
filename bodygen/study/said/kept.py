"""Which figures of ``properties.json`` a study keeps: a path as a maker writes it, to columns of the table.

A path is names with points between; one of a list is ``stages[drilled]``, by its name, or ``stages[3]``, counted from
1. A path to several figures keeps all of them.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal

from bodygen.errors import did_you_mean
from bodygen.study.said.model import Column

USUAL = (
    "float.reserve_g", "float.pitch_deg", "float.gm_mm", "total.mass_g", "body.volume_cm3", "body.wood_density_g_cm3",
    "ballast.mass_g", "dive.depth_m",
)  # fmt: skip
"""What is kept where a study does not say."""
RANGED = ("low", "likely", "high")
_MOST = 60
"""Columns of one path: more is a whole block of the document, and nobody's figure."""
_PLACE = re.compile(r"[0-9]{1,6}")
_STEP = re.compile(r"\.?(?P<name>[A-Za-z_][A-Za-z0-9_]*)|\[(?P<of>[^\[\]]+)\]")


class NoFigureError(ValueError):
    """A path that leads to no figure; ``near`` are those that there are."""

    def __init__(self, problem: str, near: Sequence[str]) -> None:
        super().__init__(problem)
        self.near = tuple(near)


def columns_at(document: Mapping[str, Any], path: str) -> list[Column]:
    """Give the columns that a path of a document keeps.

    Raises
    ------
    NoFigureError
        It leads nowhere, or to more than anyone reads.
    """
    steps = _steps(path)
    if steps is None:
        problem = "not a path of figures."
        raise NoFigureError(problem, ["float.reserve_g", "stages[drilled].mass_g"])
    value: Any = document
    for count, step in enumerate(steps):
        try:
            value = follow(value, step)
        except (KeyError, IndexError, TypeError):
            names = _names(value)
            written = str(step + 1) if isinstance(step, int) else step
            above = _text(steps[:count])
            whole = f"{above}[{{}}]" if isinstance(value, list) else f"{above}.{{}}" if above else "{}"
            hint = did_you_mean(written, names, whole.format, nearness=0.5)
            problem = f"{above or 'properties.json'} of this recipe has no {written}.{hint}"
            raise NoFigureError(problem, [whole.format(name) for name in names]) from None
    found = list(_leaves(value, steps))
    if not 0 < len(found) <= _MOST:
        problem = "leads to no figure." if not found else f"leads to {len(found)} figures."
        raise NoFigureError(problem, [_text([*steps, name]) for name in _names(value)][:10])
    return found


def one_column(document: Mapping[str, Any], path: str) -> Column:
    """Give the one column of a path: of a range the likely.

    Raises
    ------
    NoFigureError
        It leads nowhere, or to several figures.
    """
    found = columns_at(document, path)
    likely = [column for column in found if column.steps[-1] == "likely" and len(found) == len(RANGED)]
    if len(found) > 1 and not likely:
        problem = f"leads to {len(found)} figures, where one is asked for."
        raise NoFigureError(problem, [column.path for column in found[:10]])
    return (likely or found)[0]


def follow(value: Any, step: str | int) -> Any:  # noqa: ANN401  any part of a document
    """Go one step down; into a list by the place or by the name of one of its things."""
    if isinstance(step, int) and step < 0:  # the first is 1, and no place is counted from the end
        raise IndexError(step)
    if isinstance(value, Mapping) or isinstance(step, int):
        return value[step]
    for one in value:
        if isinstance(one, Mapping) and one.get("name") == step:
            return one
    raise KeyError(step)


def _leaves(value: Any, steps: list[str | int]) -> Iterator[Column]:  # noqa: ANN401  as above
    if isinstance(value, Mapping):
        for name, one in value.items():
            yield from _leaves(one, [*steps, name])
    elif isinstance(value, list):
        for place, one in enumerate(value):
            named = one["name"] if isinstance(one, Mapping) and "name" in one else place
            yield from _leaves(one, [*steps, named])
    elif value is None and steps[-1] == "depth_m":  # refused for the recipe itself, told for its designs
        yield from (_column([*steps, name], "number") for name in RANGED)
    else:
        text = isinstance(value, str)
        yield _column(steps, "text" if text else "flag" if isinstance(value, bool) else "number")


def _column(steps: list[str | int], kind: Literal["number", "text", "flag"]) -> Column:
    path = _text(steps)
    return Column(re.sub(r"[^A-Za-z0-9]+", "_", path).strip("_"), path, tuple(steps), kind)


def _steps(path: str) -> list[str | int] | None:
    steps: list[str | int] = []
    at = 0
    for match in _STEP.finditer(path):
        if match.start() != at:
            return None
        at = match.end()
        of = match["of"]
        steps.append(match["name"] or (int(of) - 1 if _PLACE.fullmatch(of) else of))
    return steps if steps and at == len(path) else None


def _text(steps: Sequence[str | int]) -> str:
    text = ""
    for step in steps:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        elif re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*", step):
            text += f".{step}" if text else step
        else:
            text += f"[{step}]"
    return text


def _names(value: Any) -> list[str]:  # noqa: ANN401  as above
    if isinstance(value, Mapping):
        return list(value)
    if not isinstance(value, list):
        return []
    return [str(one["name"] if isinstance(one, Mapping) and "name" in one else n) for n, one in enumerate(value, 1)]
