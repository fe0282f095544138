"""All that is known of a recipe before any wood is cut: pipeline.assess fills it in, reports and files read it."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from bodygen.ballast.answer import Answer
from bodygen.ballast.sureness.spread import Spread
from bodygen.dive.asked import DiveAsked, conditions_asked
from bodygen.dive.bait import inputs_of
from bodygen.dive.estimate import Estimate, Runs, estimated, runs
from bodygen.dive.inputs import DiveInputs
from bodygen.findings import Finding
from bodygen.finish.calendar import Calendar
from bodygen.flotation.equilibrium import Flotation
from bodygen.flotation.hull import Hull
from bodygen.flotation.refit import lies_with, load
from bodygen.form.body import Body
from bodygen.form.cuts import Tool
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.hooks.checks import hook_checks, ways
from bodygen.form.integrals import SkinIntegrals, VolumeIntegrals
from bodygen.form.ray_caster import RayCaster
from bodygen.kept import Kept
from bodygen.mesh.base_body import BaseBody
from bodygen.mesh.pieces import Pieces
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Recipe
from bodygen.shop.lip.plate import LipPlate
from bodygen.weights.calibrate import Weighed
from bodygen.weights.fittings import fitted
from bodygen.weights.item import MM3_PER_CM3, Total
from bodygen.weights.measured import Measured, Plate
from bodygen.weights.stages import Stage

if TYPE_CHECKING:
    from bodygen.dive.spread import DiveReading
    from bodygen.log.record import Build


@dataclass(frozen=True, slots=True, eq=False)
class Shaped:
    """The shape of one recipe, uncut and cut.

    ``pieces.rooms`` are in the order of ``tools``; ``plate`` is the lip's plate flat, ``set_plate`` in its slot.
    ``kept``: what several kinds of files make of it.
    """

    base_body: BaseBody
    tools: tuple[Tool, ...]
    pieces: Pieces
    plate: LipPlate | None
    set_plate: Plate | None
    kept: Kept = field(default_factory=Kept)

    @property
    def body(self) -> Body | None:
        """The surface; None where a mesh is taken as it is."""
        return self.base_body.body

    @property
    def mesh(self) -> Mesh:
        """The uncut body's mesh as it is weighed."""
        return self.base_body.mesh

    @property
    def caster(self) -> RayCaster:
        """The uncut body's answers to straight lines."""
        return self.base_body.caster

    @property
    def volume(self) -> VolumeIntegrals:
        """Of the uncut body, exact."""
        return self.base_body.volume

    @property
    def skin(self) -> SkinIntegrals:
        """Of the uncut body, plane ends included."""
        return self.base_body.skin

    @property
    def sizes(self) -> tuple[float, float, float]:
        """Length, depth, thickness [mm]."""
        return self.base_body.sizes


@dataclass(frozen=True, slots=True, eq=False)
class Assessment:
    """Everything that is known of a recipe before any wood is cut; ``properties`` gives its figures by name.

    Attributes
    ----------
    recipe : Recipe
        With the place of every fitting worked out.
    shaped : Shaped
        The body uncut and cut [mm], the cuts, the lip's plate.
    measured, weighed, total
        Volumes [mm^3] and places [mm]; the ledger's items and the bench's stages, masses [g]; their sum.
    hull, flotation
        What floats [mm]; state, reserve [g] and every stable attitude.
    findings : tuple of Finding
        Every doubt, the most serious first. ``failed``: one of them is an error.
    spread : Spread or None
        How sure mass and flotation are.
    dive : Estimate or None
        How deep it runs, where the recipe says on which line and how fast.
    calendar : Calendar or None
        Its coats by the day, where somebody says when they begin.
    told : tuple
        What it knows besides the recipe: readings off the scale, builds of the bench log, the board, a first day.
    draw : callable or None
        Makes the picture that a notebook shows; the pipeline hands it over, as pictures are made above this room.
    again : callable or None
        Assesses a changed recipe, without its spread; handed over, too.
    """

    recipe: Recipe
    shaped: Shaped
    measured: Measured
    weighed: Weighed
    total: Total
    hull: Hull
    flotation: Flotation
    findings: tuple[Finding, ...]
    spread: Spread | None = None
    dive: Estimate | None = None
    calendar: Calendar | None = None
    told: tuple[object, ...] = ()
    draw: Callable[["Assessment"], str] | None = None
    again: Callable[[Recipe], "Assessment"] | None = None

    def __repr__(self) -> str:
        """One line: what it weighs, how it lies, how many findings."""
        f, counts = self.flotation, Counter(finding.severity for finding in self.findings)
        checks = ", ".join(f"{counts[s]} {s}{'s' * (counts[s] > 1)}" for s in ("error", "warning", "note") if counts[s])
        lies = f"{f.state} with a reserve of {f.reserve_g:+.2f} g, nose {f.attitude.pitch_deg:+.1f} deg"
        return f"<Assessment of {self.recipe.name!r}: {self.total.mass:.2f} g, {lies}; {checks or 'nothing to doubt'}>"

    def _repr_svg_(self) -> str | None:
        """Draw the bait at its waterline; notebooks ask for it by this name."""
        return self.draw(self) if self.draw else None

    @property
    def failed(self) -> bool:
        """Whether a rule of severity error is broken."""
        return any(f.severity == "error" for f in self.findings)


@dataclass(frozen=True, slots=True, eq=False)
class Glance:
    """A recipe at a glance: its shape, the masses at each stage, all of it, how it lies; no findings and no spread."""

    recipe: Recipe
    shaped: Shaped
    measured: Measured
    stages: tuple[Stage, ...]
    total: Total
    hull: Hull
    flotation: Flotation


def answer_of(assessment: Assessment) -> Answer:
    """Take from an assessment what ``ballast/`` asks of the whole flow."""
    a, shaped = assessment, assessment.shaped
    return Answer(
        recipe=a.recipe,
        sizes=shaped.sizes,
        caster=shaped.caster,
        body=shaped.mesh,
        skin=shaped.base_body.facets,
        tools=shaped.tools,
        measured=a.measured,
        wood=a.weighed.density,
        items=a.weighed.items,
        stages=a.weighed.stages,
        total=a.total,
        hull=a.hull,
        flotation=a.flotation,
        findings=a.findings,
    )


def hooks_of(assessment: Assessment, dive: Estimate | None) -> tuple[Finding, ...]:
    """What to doubt of the hooks as the bait rests, and as it runs where that is known."""
    a, shaped = assessment, assessment.shaped
    if not any(fitting.kind == "hook" for fitting in a.recipe.fittings):
        return ()
    plate = None if shaped.set_plate is None else shaped.set_plate.mesh
    lip = np.zeros((0, 3, 3)) if plate is None else plate.vertices[plate.faces]
    pitch = dive.runs.running.pitch if dive is not None and dive.runs.running is not None else None
    pulled = ways(a.flotation.attitude.up, pitch)
    return hook_checks(a.recipe, shaped.tools, shaped.caster, lip, pulled, lambda sizes: _with_hooks(a, sizes))


def _with_hooks(a: Assessment, sizes: dict[int, str]) -> tuple[str, Sequence[float]]:
    """What other hooks at some places among the fittings do to weight and trim, in words; and the vertical then."""
    new = tuple(
        replace(one, size=sizes[n], mass=None, displaces_cm3=None) if n in sizes else one
        for n, one in enumerate(a.recipe.fittings)
    )
    pairs = zip(fitted(a.recipe), fitted(replace(a.recipe, fittings=new)), strict=True)
    changed = [(one.item, other.item) for one, other in pairs if one.item.owner and one.item.owner[1] in sizes]
    grams = sum(after.mass - before.mass for before, after in changed)
    water = a.flotation.water_g_cm3 / MM3_PER_CM3
    net = sum((load(y.mass - x.mass - water * (y.displaces - x.displaces), x.at) for x, y in changed), np.zeros(4))
    lies = lies_with(a.hull, a.total.mass, a.total.centre_of_mass, a.flotation, net)
    nose = lies.attitude.pitch_deg - a.flotation.attitude.pitch_deg
    return f"{grams:+.2f} g, nose {abs(nose):.1f} deg {'up' if nose >= 0 else 'down'}", lies.attitude.up


def dive_inputs(assessment: Assessment) -> tuple[DiveInputs | None, tuple[Finding, ...]]:
    """Take from an assessment what ``dive/`` is given of a bait; None, and why, where it has no ground."""
    a, plate = assessment, assessment.shaped.plate
    return inputs_of(
        a.recipe,
        a.shaped.base_body,
        a.shaped.tools,
        None if plate is None else (plate.exposed, plate.holes),
        a.weighed.items,
        a.total,
        a.flotation.water_g_cm3,
        bent_wires(a.recipe, a.shaped.tools, a.shaped.caster),
    )


def runs_of(assessment: Assessment, speed_m_s: float | None) -> Runs:
    """How a bait runs at a speed: its own figures on its attitude, and what forbids or doubts a depth."""
    return runs(assessment.recipe, *dive_inputs(assessment), assessment.flotation, speed_m_s)


def runs_at_speeds(assessment: Assessment) -> Callable[[float], Runs]:
    """How the same bait runs at any speed [m/s]: what is taken off the assessment hangs on none."""
    inputs, doubts = dive_inputs(assessment)
    return lambda speed_m_s: runs(assessment.recipe, inputs, doubts, assessment.flotation, speed_m_s)


def estimate_of(assessment: Assessment, asked: DiveAsked, readings: "Sequence[DiveReading]" = ()) -> Estimate:
    """How deep it runs as it is asked, with what measured dives taught."""
    return estimated(runs_of(assessment, asked.speed_m_s), asked, readings)


def dive_of(assessment: Assessment, history: "Sequence[Build]" = ()) -> Estimate | None:
    """How deep it runs, with what the log's dives taught; None where the recipe leaves open which line, or how fast."""
    asked = conditions_asked(assessment.recipe)
    if asked.conditions is None:
        return None
    return estimate_of(assessment, asked, _dives(history) if history else ())


def dive_or_why(
    assessment: Assessment, speed_m_s: float, history: "Sequence[Build]" = ()
) -> tuple[tuple[Finding, ...], tuple[float, float, float] | None]:
    """Why no dive is told of a bait at a speed; and low, likely and high depth [m] where its line is known."""
    refusals = runs_of(assessment, speed_m_s).refusals
    e = None if refusals else dive_of(assessment, history)
    return refusals, astuple(e.depth) if e and e.depth else None


def _dives(history: "Sequence[Build]") -> "Sequence[DiveReading]":
    from bodygen.dive.readings import dive_readings  # noqa: PLC0415  without a history no log is needed

    return dive_readings(history)[0]
