"""The whole flow on one page: a recipe becomes a shape, weighs, floats, and is doubted: assess(recipe) -> Assessment.

Nothing here loads the CAD kernel, and nothing is written (``building.py``).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from bodygen.assessment import Assessment, Glance, Shaped, answer_of, dive_of, dive_or_why, hooks_of
from bodygen.ballast.goal import bait_checks
from bodygen.ballast.sureness.spread import spread_of
from bodygen.errors import DesignError, InputError, Mistake
from bodygen.findings import Finding
from bodygen.finish.calendar import calendar
from bodygen.finish.checks import finish_findings
from bodygen.flotation.afloat import finished_hull, flooded, water_in
from bodygen.flotation.checks import flotation_checks
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Hull, Shell
from bodygen.flotation.water import density as water_density
from bodygen.flotation.water import water_checks
from bodygen.form.blank import Blank, blank_of, default_allowance
from bodygen.form.cuts import Revolved, Tool, slot_of, tools_of
from bodygen.form.cuts.checks import wood_left
from bodygen.form.cuts.hung import hung, hung_checks
from bodygen.form.cuts.wire_checks import wire_checks
from bodygen.form.fairing.shape import shape_checks
from bodygen.form.integrals import Array
from bodygen.mesh.base_body import BaseBody, base_body_of
from bodygen.mesh.cut import to_mesh
from bodygen.mesh.pieces import cut_in_turn
from bodygen.mesh.split import parts_left
from bodygen.recipe.model import Goal, Recipe
from bodygen.shop.lip.plate import LipPlate, lip_plate
from bodygen.shop.wire.hangers import hanger_checks
from bodygen.weights.calibrate import calibrate
from bodygen.weights.cavities import fill_findings
from bodygen.weights.coats import coat_findings
from bodygen.weights.fittings import lodging_findings
from bodygen.weights.item import Item, total
from bodygen.weights.measured import Measured, PlateShape, cavities_of, measure, metal_in, plate_in_slot
from bodygen.weights.wood import refuse_weightless

if TYPE_CHECKING:
    from bodygen.ballast.solve import Solution
    from bodygen.log.record import Build
    from bodygen.weights.learned import Learned

SAG_MM = 0.002
"""How far the drawn polygon of the lip may leave its arcs."""


def shape(recipe: Recipe) -> tuple[Shaped, tuple[Finding, ...]]:
    """The body, its cuts and the lip's plate, with every doubt about them.

    Raises
    ------
    InputError
        What can only be known to be wrong once the surface exists.
    DesignError
        No sound body can be made of it.
    """
    shaped, lip_checks = cut(recipe)
    base_body, tools = shaped.base_body, shaped.tools
    findings = shape_checks(recipe, base_body.sizes) + wood_left(recipe, tools, base_body.facets, base_body.caster)
    if base_body.body is None:
        from bodygen.mesh.file import lies_across  # noqa: PLC0415  a drawn body has no file

        findings += lies_across(base_body.sizes)
    out = {part for finding in findings if finding.code == "bore-breaks-out" for part in finding.about}
    parts = parts_left(shaped.pieces, [i for i, tool in enumerate(tools) if tool.part in out])
    if parts == 0:
        msg = "the cuts take all of the wood away"
        raise DesignError(msg, "bore", "a thinner drill, or less depth")
    if parts != 1:
        remedy = f"the cuts part the wood into {parts} pieces: shorten the slot or move the bores"
        findings += (Finding("cut-apart", "error", "body", remedy, float(parts), 1.0, "pieces"),)
    return shaped, findings + lip_checks


def cut(recipe: Recipe) -> tuple[Shaped, tuple[Finding, ...]]:
    """The body, its cuts and the lip's plate, with the findings about the plate alone: errors as of ``shape``."""
    base_body = base_body_of(recipe)
    tools = tools_of(recipe, base_body.caster)
    pieces = cut_in_turn(base_body.stock, tools)
    if recipe.lip is None:
        return Shaped(base_body, tools, pieces, None, None), ()
    plate, checks = lip_plate(recipe.lip, _width_at_slot(tools, base_body))
    return Shaped(base_body, tools, pieces, plate, plate_in_slot(tools, pieces, _polygons(plate))), checks


def assess(
    recipe: Recipe,
    readings: Sequence[tuple[str, float]] = (),
    history: "Sequence[Build]" = (),
    board: str = "",
    *,
    coats_from: date | None = None,
    pause: Callable[[], None] = lambda: None,
) -> Assessment:
    """What a recipe weighs at each step and how it lies in the water.

    Parameters
    ----------
    recipe : Recipe
        As read, or changed with ``dataclasses.replace``: lengths [mm], masses [g], angles [rad].
    readings : sequence of (str, float)
        Off the scale, besides the recipe's own: a stage, such as "drilled", and its mass [g].
    history : sequence of Build
        The bench log: what its builds taught corrects the tables' guesses.
    board : str
        The board of this body, in the log's words.
    coats_from : date, optional
        Day of the first coat; wins over the recipe's own.
    pause : callable
        Called between one piece of the work and the next; what it raises ends it, and nothing is half kept.

    Returns
    -------
    Assessment
        ``properties`` gives its figures under names with their units; its ``findings`` are what to judge.

    Raises
    ------
    InputError
        The recipe or a reading says what cannot be, such as a bore beside the body; where it stands, and what can.
    DesignError
        No sound body can be made of it.
    """
    try:
        a = _assess(recipe, readings, history, board, pause=pause)
        answer = answer_of(a)
        spread = spread_of(answer, pause=pause)
    except DesignError as error:
        raise _located(error, recipe) from error
    pause()
    dive = dive_of(a, history)
    pause()
    doubts = (*dive.runs.refusals, *dive.runs.doubts) if dive else ()
    crossing, hooks = _crossing(a.shaped.base_body), hooks_of(a, dive)
    findings = by_severity([*a.findings, *crossing, *bait_checks(answer, spread), *hooks, *doubts])
    by_day = calendar(a.recipe, a.weighed.items, a.measured.skin.area, coats_from)
    told: tuple[object, ...] = (tuple(readings), tuple(history), board) if readings or history else ()
    told += (coats_from.isoformat(),) if coats_from else ()
    known = replace(a, spread=spread, dive=dive, calendar=by_day, findings=findings, told=told)
    return replace(known, draw=_drawn, again=assess_quickly)


def glance(recipe: Recipe, before: "Assessment | Glance") -> Glance:
    """Masses and the one attitude of a recipe that was changed a little since ``before``: for dragging.

    What did not change since is not worked out again, and the bait is let go from how it lay, not from level. So it is
    where ``assess`` says it is, but for a bait that has two ways to lie near each other.

    Raises
    ------
    InputError, DesignError
        As ``assess``.
    """
    try:
        refuse_weightless(recipe)
        shaped, _ = cut(recipe)
        recipe = hung(recipe, shaped.tools, shaped.base_body.caster)
        measured = measure(recipe, shaped.volume, shaped.skin, shaped.tools, shaped.pieces, shaped.set_plate)
        weighed = calibrate(recipe, replace(measured, block=_block(recipe, shaped.base_body)), recipe.weighed)
        whole = total(weighed.items)
        hull = hull_of(recipe, shaped, measured, weighed.items)
        near = before.flotation.attitude if before.flotation.state == "floats" else None
        water = water_density(recipe.water)
        flotation = find_attitudes(hull, whole.mass, whole.centre_of_mass, water, others=False, near=near)
    except DesignError as error:
        raise _located(error, recipe) from error
    return Glance(recipe, shaped, measured, weighed.stages, whole, hull, flotation)


def _drawn(a: Assessment) -> str:
    from bodygen.files.pictures import waterline_svg  # noqa: PLC0415  weigh draws nothing

    return waterline_svg(a)


def _assess(
    recipe: Recipe,
    readings: Sequence[tuple[str, float]],
    history: "Sequence[Build]",
    board: str,
    *,
    others: bool = True,
    pause: Callable[[], None] = lambda: None,
) -> Assessment:
    """The assessment without its spread, as often as the ballast's search asks for one; it needs no ``others``."""
    refuse_weightless(recipe)
    shaped, findings = shape(recipe)
    pause()
    recipe = hung(recipe, shaped.tools, shaped.base_body.caster)
    measured = measure(recipe, shaped.volume, shaped.skin, shaped.tools, shaped.pieces, shaped.set_plate)
    pause()
    measured = replace(measured, block=_block(recipe, shaped.base_body))
    taught = _taught(recipe, measured, history, board) if history else None
    weighed = calibrate(recipe, measured, [*recipe.weighed, *readings], taught)
    summary = total(weighed.items)
    hull = hull_of(recipe, shaped, measured, weighed.items)
    water = water_density(recipe.water)
    flotation = find_attitudes(hull, summary.mass, summary.centre_of_mass, water, others=others, pause=pause)
    checks = flotation_checks(
        flotation,
        _vector(summary.centre_of_mass),
        _vector(summary.centre_of_buoyancy),
        shaped.sizes[1],
        meant=recipe.goal.state if recipe.goal else None,
        has_lip=recipe.lip is not None,
    )
    found = (
        *findings,
        *weighed.findings,
        *coat_findings(recipe),
        *finish_findings(recipe),
        *fill_findings(recipe, measured),
        *lodging_findings(recipe, measured),
        *hung_checks(recipe, shaped.tools, shaped.base_body.caster),
        *wire_checks(recipe, shaped.tools, shaped.base_body.caster),
        *hanger_checks(recipe, shaped.tools, weighed.density.g_cm3),
        *water_checks(recipe.water),
        *checks,
    )
    return Assessment(recipe, shaped, measured, weighed, summary, hull, flotation, by_severity(found))


def assess_quickly(
    recipe: Recipe, readings: Sequence[tuple[str, float]] = (), history: "Sequence[Build]" = (), board: str = ""
) -> Assessment:
    """The assessment that a search asks for again and again: no spread, and no attitude but the first."""
    return _assess(recipe, readings, history, board, others=False)


def solve_ballast(
    recipe: Recipe,
    goal: Goal | None = None,
    readings: Sequence[tuple[str, float]] = (),
    history: "Sequence[Build]" = (),
    board: str = "",
) -> "Solution":
    """Bores that give the float asked for, each put into the recipe and weighed before it is offered.

    Parameters
    ----------
    recipe : Recipe
        The bait as it is designed, or as it stands on the bench.
    goal : Goal, optional
        What is wished for; left out, the recipe's own ``[goal]``.
    readings, history, board
        As for ``assess``.

    Returns
    -------
    Solution
        Its ``offers``, best first. Where none is ``met``, the first is the nearest that can be had, and ``findings``
        say what stands in the way.

    Raises
    ------
    InputError
        No goal; else as ``assess``.
    DesignError
        A goal without a figure; else as ``assess``.
    """
    from bodygen.ballast.dives import that_dive  # noqa: PLC0415  weigh has no use for the search
    from bodygen.ballast.solve import solve  # noqa: PLC0415  as above

    goal = goal or recipe.goal
    if goal is None:
        accepted = "a table [goal] in the recipe, or a Goal handed over"
        raise InputError([Mistake(*recipe.place("goal"), "goal", "", "nothing is asked for.", accepted)])
    try:
        found = solve(
            recipe, goal, lambda changed: answer_of(_assess(changed, (), history, board, others=False)), readings
        )
        return that_dive(found, lambda changed, speed: dive_or_why(assess_quickly(changed), speed, history))
    except (DesignError, InputError) as error:  # of a recipe that the search changed, which is in no file
        raise _located(error, recipe) from error


def _located(error: DesignError | InputError, recipe: Recipe) -> DesignError | InputError:
    """The same with the places of the file that the recipe was read from, if it was."""
    return error.located(recipe.source.file, recipe.source.lines) if recipe.source else error.located("", {})


def _taught(recipe: Recipe, measured: Measured, history: "Sequence[Build]", board: str) -> "Learned":
    from bodygen.log.learned import learned  # noqa: PLC0415  most baits are weighed without the bench log
    from bodygen.weights.expected import expectations  # noqa: PLC0415

    return learned(history, expectations(recipe, measured), recipe.name, board)


def _crossing(base_body: BaseBody) -> tuple[Finding, ...]:
    if base_body.body is not None:
        return ()
    from bodygen.mesh.crossing import crosses_itself  # noqa: PLC0415  a drawn body does not

    return crosses_itself(base_body.mesh)


def _block(recipe: Recipe, base_body: BaseBody) -> Blank:
    """The squared block: the one in hand, or what the template is drawn for."""
    return blank_of(
        base_body.caster.low, base_body.caster.high, default_allowance(recipe.units), recipe.wood.blank_size
    )


def _vector(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def by_severity(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The most serious first, otherwise in the order found."""
    return tuple(sorted(findings, key=lambda f: ("error", "warning", "note").index(f.severity)))


def _width_at_slot(tools: tuple[Tool, ...], base_body: BaseBody) -> float | None:
    slot = slot_of(tools)
    if slot is None or base_body.body is None:
        return float(base_body.caster.high[1] - base_body.caster.low[1]) if slot else None
    return float(2 * base_body.body.half_width_at(np.array([slot.origin[0]]))[0])


@lru_cache(maxsize=8)  # a bait that is changed mostly keeps its plate
def _polygons(plate: LipPlate) -> PlateShape:
    holes = tuple(np.array(hole.points(SAG_MM)) for hole in plate.holes)
    return PlateShape(np.array(plate.outline.points(SAG_MM)), holes, plate.thickness)


def hull_of(recipe: Recipe, shaped: Shaped, measured: Measured, items: Sequence[Item]) -> Hull:
    """What pushes water aside once these items are there [mm]; what is in no cavity floods."""
    floods: list[Shell] = []
    cavities = zip(shaped.tools, shaped.pieces.cavities, cavities_of(shaped.tools), strict=True)
    for place, (tool, solid, key) in enumerate(cavities):
        lies = [item for item in items if key is not None and item.cavity == key]
        water = water_in(solid.volume(), lies)
        if water:
            metal = metal_in(recipe, tool, place, shaped.pieces) if isinstance(tool, Revolved) else None
            floods += flooded(to_mesh(solid), water, lies, None if metal is None else to_mesh(metal[0]))
    exposed = shaped.set_plate.mesh if shaped.set_plate else None
    base_body = shaped.base_body
    return finished_hull(base_body.floated, measured.body, items, exposed, floods)
