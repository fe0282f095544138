"""The scale on the card: a ruler of weights, a mark where each step should read, and an empty box for what it reads."""

from bodygen.assessment import Assessment
from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Label, Mark, stroke
from bodygen.report.blocks import metal_stage
from bodygen.report.card.lettering import DROP, PITCH, SMALLEST, cut_short, frame
from bodygen.report.pictures.chart import round_steps, spread_within
from bodygen.units import mass_texts
from bodygen.weights.stages import Stage

BIG, LEAST_BIG = 16.0, 10.0
"""Size of the single biggest figure on the page [mm]."""
TALL = 2 * SMALLEST * PITCH + 1.2
"""Room for one step beside the ruler [mm]."""
BOX = 14.0
FIGURES, LEAD = 8.0, 6.0
"""Room for the ruler's figures, and from it to the words [mm]."""
BEYOND = 1.5
"""A reading so many times the next largest is off the ruler [-]."""


def big_figure(a: Assessment, width: float) -> tuple[list[Mark], float]:
    """What the scale must read when the metal is in, as large as the column is wide; marks at (0, 0), its height [mm].

    Where no metal goes in: what all of it should weigh.
    """
    stage = metal_stage(a)
    says = "metal in: stop when the scale reads" if stage else "no metal: all of it should weigh"
    first, *others = mass_texts((stage or a.weighed.stages[-1]).mass, a.recipe.units)
    size = max(min(BIG, width / width_of(first, 1.0, bold=True)), LEAST_BIG)
    size = min(size, width / width_of(first, 1.0, bold=True))
    y = SMALLEST * PITCH + size * DROP
    marks: list[Mark] = [
        Label(cut_short(says, width, 1.1 * SMALLEST, bold=True), (0.0, DROP * SMALLEST), 1.1 * SMALLEST, bold=True),
        Label(first, (width / 2, y), size, "centre", bold=True),
    ]
    y += 0.25 * size
    for other in others:
        marks.append(Label(other, (width / 2, y + DROP * SMALLEST), SMALLEST, "centre"))
        y += SMALLEST * PITCH
    return marks, y + 1.5


def scale_ruler(a: Assessment, width: float, height: float) -> list[Mark]:
    """Draw the ruler from the lightest to the heaviest step in a box with its upper left corner at (0, 0) [mm]."""
    stages = sorted(a.weighed.stages, key=lambda stage: stage.mass)
    if not stages:
        return []
    above = stages[-1:] if len(stages) > 1 and stages[-1].mass > BEYOND * stages[-2].mass else []
    on = stages[: len(stages) - len(above)]
    half = min(TALL, height / len(stages)) / 2
    top, low = 2 * half * len(above), height
    least, most = _ends(on[0].mass, on[-1].mass)

    def at(mass: float) -> float:
        return low - (mass - least) / (most - least) * (low - top)

    marks: list[Mark] = [stroke([(FIGURES, top), (FIGURES, low)], "visible", part="ruler")]
    for step in round_steps(least, most, max(int((low - top) / 9.0), 2)):
        y = at(step)
        marks.append(stroke([(FIGURES - 1.6, y), (FIGURES, y)], "thin", part="ruler"))
        inside = min(max(y, top + 0.5 * SMALLEST), low - 0.3 * SMALLEST)
        marks.append(Label(f"{step:g}", (FIGURES - 2.2, inside + 0.35 * SMALLEST), SMALLEST, "right"))
    places = spread_within([at(stage.mass) for stage in reversed(on)], [half] * len(on), top, low)[::-1]
    for stage, y in zip(on, places, strict=True):
        line = [(FIGURES, at(stage.mass)), (FIGURES + 2.0, at(stage.mass)), (FIGURES + LEAD - 1.0, y)]
        marks.append(stroke(line, "thin", part="mark"))
        marks += _reading(a, stage, y, half, width)
    for stage in above:  # beyond a break in the ruler
        marks.append(stroke([(FIGURES, top), (FIGURES, half)], "hidden", part="ruler"))
        marks.append(stroke([(FIGURES, half), (FIGURES + LEAD - 1.0, half)], "thin", part="mark"))
        marks += _reading(a, stage, half, half, width)
    return marks


def _ends(lightest: float, heaviest: float) -> tuple[float, float]:
    """Where the ruler begins and ends: at nothing, or not far beyond readings that lie close together [g].

    Examples
    --------
    >>> _ends(2.0, 10.0), _ends(90.0, 100.0), _ends(50.0, 50.0)
    ((0.0, 10.5), (89.0, 101.0), (40.0, 52.5))
    """
    if lightest <= 0.3 * heaviest:
        return 0.0, 1.05 * heaviest
    beyond = 0.1 * (heaviest - lightest)
    return (lightest - beyond, heaviest + beyond) if beyond else (0.8 * lightest, 1.05 * heaviest)


def _reading(a: Assessment, stage: Stage, y: float, half: float, width: float) -> list[Mark]:
    """One step's name and reading, its box at the right."""
    left, right = FIGURES + LEAD, width - BOX - 1.5
    first, *others = mass_texts(stage.mass, a.recipe.units)
    lines = [(f"{stage.name}  {first}", True)]
    near = f"± {stage.tolerance:.2f} g"
    if 2 * half >= TALL - 0.1:
        lines = [*lines, (" ".join([*others, near]), False)]
    y0 = y - len(lines) * SMALLEST * PITCH / 2
    marks: list[Mark] = [
        Label(cut_short(text, right - left, SMALLEST, bold=bold), (left, y0 + DROP * SMALLEST + i * SMALLEST * PITCH),
              SMALLEST, bold=bold)
        for i, (text, bold) in enumerate(lines)
    ]  # fmt: skip
    tall = min(half - 0.3, 3.6)
    return [*marks, frame(width - BOX, y - tall, width, y + tall)]
