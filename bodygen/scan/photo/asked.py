"""What is asked of photographs, by a command line or a program, checked; and the way from there to the files."""

import re
from argparse import Namespace
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

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
from bodygen.scan.told import Told, option
from bodygen.scan.written import Written, write_traced

CLEAR = 0.02
"""Share of the length that an outline's middle lies ahead where the fuller end is clearly the nose."""
SPAN = "X1,Y1,X2,Y2=LENGTH, pixels from the picture's top left, such as 310,1840,2710,1852=6 in"


@dataclass(frozen=True, slots=True)
class Pictures:
    """Photographs to trace: ``side``, and ``top`` and ``mask`` (strokes over what is no bait) where there are.

    ``page`` or ``span`` tells their size; ``thickness`` is the greatest [mm], ``nose`` its place in ``side``.
    """

    side: Path
    top: Path | None = None
    page: str | None = None
    span: PixelSpan | None = None
    mask: Path | None = None
    thickness: float | None = None
    nose: Literal["left", "right"] | None = None


def pictures_of(options: Namespace, ruler: Units) -> Pictures:
    """Read what the command line says of photographs; ``ruler``: the unit of lengths that have none.

    Raises
    ------
    InputError
        A length or a span that is none.
    """
    mistakes: list[Mistake] = []
    thickness = option(
        "--thickness", options.thickness, lambda v: units.length(v, ruler), mistakes, _thicknesses(), _is_thickness
    )
    span = _span(options.span, ruler, mistakes)
    if mistakes:
        raise InputError(mistakes)
    return Pictures(options.file, options.top, options.page, span, options.mask, thickness, options.nose)


def trace_pictures(asked: Pictures, told: Told, folder: Path) -> Written:
    """Trace photographs, and write the recipe and its pictures into a folder.

    Raises
    ------
    InputError
        Pictures without a size, or that show no bait; sizes that are none; names that are taken.
    """
    _refuse(asked)
    stem = stem_of(told.name)
    drawn = [folder / f"{stem}-fit-{name}.png" for name in ("side", "top")][: 2 if asked.top else 1]
    refuse_taken(drawn)
    side = view_of(asked.side, asked.page, asked.span, asked.mask)
    top = view_of(asked.top, asked.page, None) if asked.top else None
    trace, measured = traced_photos(side, top, asked.thickness, nose_right=asked.nose == "right")
    if asked.nose is None:
        trace = replace(trace, guessed=(*trace.guessed, *nose_guessed(measured.side)))
    written = write_traced(trace, told, folder)
    _overlays(drawn, side, top, measured, written)
    return written


def _refuse(asked: Pictures) -> None:
    mistakes = []
    if (asked.page is None) == (asked.span is None):
        problem = "a picture's size is told by the page that the bait lies on, or by a span: one of them."
        mistakes.append(Mistake("command line", 0, "--page", "", problem, "--page a4, --page letter, or --span"))
    if asked.span and asked.top:
        problem = "a span measures one picture only, and --top is another."
        mistakes.append(Mistake("command line", 0, "--top", str(asked.top), problem, "--page with both on the page"))
    if asked.thickness is not None and not _is_thickness(asked.thickness):
        written, problem = f"{asked.thickness:g} mm", "outside what is accepted."
        mistakes.append(Mistake("command line", 0, "--thickness", written, problem, _thicknesses()))
    if mistakes:
        raise InputError(mistakes)


def _is_thickness(size: float) -> bool:
    low, high = bounds("body_thickness_mm")
    return low <= size <= high


def _thicknesses() -> str:
    low, high = bounds("body_thickness_mm")
    return f"{low:g} to {high:g} mm"


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
