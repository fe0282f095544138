"""What the command line says of photographs, read and checked; and the way from there to the files."""

import re
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

import numpy as np

from bodygen import units
from bodygen.errors import InputError, Mistake
from bodygen.recipe.keys import bounds
from bodygen.recipe.model import Units
from bodygen.recipe.new import refuse_taken, stem_of
from bodygen.scan.photo.lifted import Lifted
from bodygen.scan.photo.outline.lines import Profile
from bodygen.scan.photo.overlay import draw_overlay, side_lines, top_lines
from bodygen.scan.photo.trace import traced_photos
from bodygen.scan.photo.view import PhotoView, PixelSpan, view_of
from bodygen.scan.record import Guessed
from bodygen.scan.told import option, told_from
from bodygen.scan.written import Written, write_traced

CLEAR = 0.02
"""Share of the length that an outline's middle lies ahead where the fuller end is clearly the nose."""
SPAN = "X1,Y1,X2,Y2=LENGTH, pixels from the picture's top left, such as 310,1840,2710,1852=6 in"


def trace_photos(options: Namespace, folder: Path) -> Written:
    """Trace the photographs of the command line, and write the recipe and its pictures into a folder.

    Raises
    ------
    InputError
        Whatever of the command line, the pictures or the names does not do.
    """
    ruler: Units = options.units or "mm"
    told = told_from(options, ruler)
    mistakes: list[Mistake] = []
    low, high = bounds("body_thickness_mm")
    thickness = option(
        "--thickness",
        options.thickness,
        lambda v: units.length(v, ruler),
        mistakes,
        f"{low:g} to {high:g} mm",
        lambda v: low <= v <= high,
    )
    span = _span(options.span, ruler, mistakes)
    if options.span and options.top:
        problem = "a span measures one picture only, and --top is another."
        mistakes.append(Mistake("command line", 0, "--top", str(options.top), problem, "--page with both on the page"))
    if mistakes:
        raise InputError(mistakes)
    stem = stem_of(told.name)
    pictures = [folder / f"{stem}-fit-{name}.png" for name in ("side", "top")][: 2 if options.top else 1]
    refuse_taken(pictures)
    side = view_of(options.file, options.page, span, options.mask)
    top = view_of(options.top, options.page, None) if options.top else None
    trace, measured = traced_photos(side, top, thickness, nose_right=options.nose == "right")
    if options.nose is None:
        trace = replace(trace, guessed=(*trace.guessed, *nose_guessed(measured.side)))
    written = write_traced(trace, told, folder)
    _overlays(pictures, side, top, measured, written)
    return written


def nose_guessed(side: Profile) -> tuple[Guessed, ...]:
    """The nose as a guess where nobody told it and the side is not clearly fuller at its end; nothing where it is.

    Common practice, no published source: the fuller end is the nose.
    """
    depth = side.high - side.low
    off = 0.5 - float(np.trapezoid(side.x * depth, side.x) / np.trapezoid(depth, side.x)) / side.length
    if off >= CLEAR:
        return ()
    where = f"{abs(off):.1%} of the length {'ahead of' if off > 0 else 'behind'} the middle"
    why = f"as nobody said, and the outline's centroid lies {where}: --nose right is the other way"
    return (Guessed("nose", "at the left of the picture", why),)


def _overlays(pictures: list[Path], side: PhotoView, top: PhotoView | None, measured: Lifted, written: Written) -> None:
    """Lay the recipe's curve over each photograph."""
    x = measured.side.length * (1 - np.cos(np.linspace(0, np.pi, 240))) / 2  # close where an end turns
    lines = (x, *side_lines(written.body, written.film, x))
    draw_overlay(pictures[0], side, measured.side, measured.height, lines, written.trace.proposed)
    if top is not None and measured.top is not None and measured.heights is not None:
        share = measured.top.length / measured.side.length
        upper, lower = top_lines(written.body, written.film, x)
        middle = np.interp(x * share, measured.top.x, (measured.top.high + measured.top.low) / 2)
        at = (x * share, upper + middle, lower + middle)
        draw_overlay(pictures[1], top, measured.top, float(np.mean(measured.heights)), at)


def _span(written: str | None, ruler: Units, mistakes: list[Mistake]) -> PixelSpan | None:
    if written is None:
        return None
    number = r"\s*(\d+(?:\.\d+)?)\s*"
    found = re.fullmatch(f"{number},{number},{number},{number}=(.+)", written)
    problem = "not two places and a length."
    if found:
        try:
            length = units.length(found[5].strip(), ruler)
            if 1 <= length <= 2000:
                x0, y0, x1, y1 = (float(found[i]) for i in range(1, 5))
                return PixelSpan((x0, y0), (x1, y1), length)
            problem = f"{length:g} mm is no span to measure by."
        except units.UnitError as error:
            problem = error.problem
    mistakes.append(Mistake("command line", 0, "--span", f'"{written}"', problem, SPAN))
    return None
