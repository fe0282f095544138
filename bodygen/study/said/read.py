"""Reading a study's file: one page from the bytes to a checked ``Study``, or every mistake in it at once."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from hashlib import sha256
from math import prod
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, visible
from bodygen.files.made_with import program
from bodygen.pipeline import assess
from bodygen.recipe.keys import FORMAT
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.text.read_context import ReadContext, read_table
from bodygen.recipe.text.read_context import Values as Table
from bodygen.recipe.text.source_positions import places
from bodygen.recipe.text.toml_file import content_of, text_of, toml_of
from bodygen.report.properties import plain, properties
from bodygen.study.said.batch import read_batch
from bodygen.study.said.kept import USUAL, NoFigureError, columns_at
from bodygen.study.said.keys import STUDY
from bodygen.study.said.model import Board, Column, Plan, Range, Study, Varied
from bodygen.study.said.recipe import base_of, with_keys
from bodygen.study.said.varied import DENSITY, read_boards, read_varied
from bodygen.study.said.wished import read_aims, read_limits, read_search
from bodygen.study.said.written import first_text, levels

SEED = 1


def read_study(path: Path | str, *, allow_outside: bool = False) -> Study:
    """Read and check a study's file, and the recipe that it names.

    Parameters
    ----------
    path : Path or str
        The TOML file.
    allow_outside : bool
        Let it name a recipe anywhere, and that one files outside its own folder.

    Returns
    -------
    Study
        With the recipe's text ready to be changed, and the columns of the table.

    Raises
    ------
    InputError
        Every mistake found, each with file, line, key, what was written and what is accepted.
    DesignError
        No sound body can be made of the recipe itself.
    """
    path = Path(path)
    file = path.as_posix()
    text = text_of(content_of(path, "a study's file (TOML)"), file)
    raw = toml_of(text, file)
    found = places(text)
    ctx = ReadContext(file, path.parent, found, allow_outside)
    named = raw.get("recipe")
    base = base_of(ctx, named) if isinstance(named, str) else None
    if base is not None:
        ctx.units = base.units
    values = read_table(ctx, "", raw, STUDY)
    if values.get("format", FORMAT) != FORMAT:
        ctx.fault("format", "a format this version does not know.", f"format = {FORMAT}")
    if base is None:
        raise InputError(ctx.mistakes)
    varied = read_varied(ctx, values.get("vary", []), base)
    boards = read_boards(ctx, values.get("board", []), varied)
    batch = read_batch(ctx, values["batch"], len(boards)) if "batch" in values else None
    if "batch" in raw:
        values = _refuse_besides(ctx, raw, values)
    elif not varied and not boards and not ctx.mistakes:
        ctx.fault("vary", "nothing is varied.", "one [[vary]] at least, or boards")
    plan = _plan(ctx, values["plan"], varied, boards) if "plan" in values else None
    if plan is not None and values["plan"].get("sensitivities"):
        plan = _with_samples(ctx, plan, len(varied) + bool(boards))
    search = read_search(ctx, raw, values.get("search"), varied)
    if not {"plan", "search", "batch"} & {*raw}:
        ctx.missing("plan", "a table [plan] with how and designs, or [search]")
    document = {} if "batch" in raw else figures_of(base.text, base.path, allow_outside=allow_outside)
    limits = read_limits(ctx, values.get("limit", []), document)
    aims = read_aims(ctx, values.get("aim", []), document)
    columns = _columns(ctx, document, values) if document else ()
    columns = tuple({one.name: one for one in (*columns, *(column for _, column in (*limits, *aims)))}.values())
    first = {one.key: first_text(one) for one in varied} | ({DENSITY: f"{boards[0].density:.9g}"} if boards else {})
    ready = base.text
    if not ctx.mistakes:
        ready = with_keys(ctx, base, first, board=DENSITY in first)
    if ctx.mistakes:
        raise InputError(ctx.mistakes)
    seed = values.get("seed", SEED)
    source = parse_recipe(ready, base.path, allow_outside=allow_outside).sha256
    return Study(
        path=path,
        name=values.get("name", visible(path.stem)),
        recipe=base.path,
        text=ready,
        sha256=_digest(source, program(), seed, [asdict(column) for column in columns]),
        seed=seed,
        plan=plan,
        varied=varied,
        boards=boards,
        columns=columns,
        limits=tuple(limit for limit, _ in limits),
        search=search,
        aims=tuple(aim for aim, _ in aims),
        batch=batch,
        allow_outside=allow_outside,
        lines={key: place.line for key, place in found.items()},
    )


def _refuse_besides(ctx: ReadContext, raw: Mapping[str, object], values: Table) -> Table:
    """Refuse what a run of pieces has no use for, and leave it out."""
    besides = ("plan", "vary", "keep", "search", "limit", "aim")
    for name in besides:
        if name in raw:
            ctx.fault(name, "has no meaning in a run of pieces.", "either [batch], or [plan] and what goes with it")
    return {name: value for name, value in values.items() if name not in besides}


def _digest(*parts: object) -> str:
    return sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def _plan(ctx: ReadContext, values: Table, varied: Sequence[Varied], boards: Sequence[Board]) -> Plan | None:
    """How many designs there are: as said, or as a grid's steps and lists make them."""
    how, designs = values.get("how"), values.get("designs")
    if how is None:
        return None
    if how == "grid":
        sizes = [levels(one) for one in varied]
        for number, (one, size) in enumerate(zip(varied, sizes, strict=True), start=1):
            if size is None:
                wanted = "steps = 5" if isinstance(one.spread, Range) else "values, a list"
                ctx.fault(f"vary[{number}]", "a grid takes values one by one.", wanted)
        count = prod(size or 1 for size in sizes) * max(1, len(boards))
        if None not in sizes and designs not in {None, count}:
            ctx.fault("plan.designs", f"this grid has {count}.", f"designs = {count}, or leave it out")
        return Plan(how, count)
    if designs is None:
        ctx.missing("plan.designs", "a whole number: how many designs")
        return None
    for number, one in enumerate(varied, start=1):
        if isinstance(one.spread, Range) and one.spread.steps:
            ctx.fault(f"vary[{number}].steps", "steps are for a grid.", 'leave it out, or how = "grid"')
    if how == "sobol" and designs & (designs - 1):
        low = 1 << (designs.bit_length() - 1)
        near = f"designs = {low} or {2 * low}"
        ctx.fault("plan.designs", "no power of two, which a Sobol' sequence needs to be even.", near)
    return Plan(how, designs)


def _with_samples(ctx: ReadContext, plan: Plan, things: int) -> Plan:
    """Lay the plan out for Sobol' indices: two samples, and one more for each thing that varies."""
    if plan.how != "sobol":
        ctx.fault("plan.sensitivities", f"a plan {plan.how} has no such samples.", 'how = "sobol", or leave it out')
    return Plan(plan.how, plan.designs * (2 + things), plan.designs)


def _columns(ctx: ReadContext, document: Mapping[str, Any], values: Table) -> tuple[Column, ...]:
    """Give the figures to keep, as columns; those of the usual ones that this recipe has, where nothing is said."""
    found: dict[str, Column] = {}
    said = values.get("keep")
    for number, path in enumerate(said if said is not None else USUAL, start=1):
        try:
            found |= {column.name: column for column in columns_at(document, path)}
        except NoFigureError as error:
            if said is not None:
                ctx.fault(f"keep[{number}]", str(error), ", ".join(error.near[:12]))
    return tuple(found.values())


def figures_of(text: str, path: Path, *, allow_outside: bool) -> Mapping[str, Any]:
    """Give ``properties.json`` of the recipe itself, whose figures are those that can be kept."""
    document: dict[str, Any] = plain(properties(assess(parse_recipe(text, path, allow_outside=allow_outside))))
    if "dive" in document:
        document["dive"].setdefault("depth_m", None)  # refused for it, and told for some of its designs
    return document
