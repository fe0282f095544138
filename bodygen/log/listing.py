"""The log to read and to carry away: a plain text, a document for programs, a CSV file.

Knows records. Computes nothing but what the rows add up to.
"""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from io import StringIO
from itertools import chain
from math import fsum
from pathlib import Path
from typing import Any

from bodygen.folder.single_file import refuse_place, write_whole
from bodygen.log.record import Build, WaterTest
from bodygen.recipe.keys import BARE, STAGES
from bodygen.units import FT_PER_M, mass_text, temperature_text
from bodygen.version import code_of
from bodygen.weights.learned import Learned

COLUMNS = (
    "build", "recipe", "code", "recipe_sha256", "bodygen_version", "board", "record", "day", "stage", "mass_g",
    "expected_g", "state", "water_c", "nose_deg", "reserve_g", "depth_m", "line_mm", "line_out_m", "speed_m_s",
    "tip_height_m", "how", "told_m", "lip_kind", "lip_tie", "lip_angle_deg", "dive_inputs",
    "wood_lot", "wood_ratio", "wood_sd", "text",
)  # fmt: skip
"""Header of the CSV file: one row a record; ``record`` is build, reading, water_test or remark."""


def expected_at(build: Build, stage: str) -> float | None:
    """What the scale should have read by the tables [g]; None where nothing was expected."""
    if stage in BARE:
        on = [e.mass for e in build.expected if e.stage == stage]
    else:
        last = STAGES.index(stage)
        on = [e.mass for e in build.expected if e.stage not in BARE and STAGES.index(e.stage) <= last]
    return fsum(on) if on else None


def listing(recipe: str, builds: Sequence[Build], learned: Learned, units: str) -> str:
    """All builds of a recipe and what they taught, for people; ``units`` "mm" or "in"."""
    if not builds:
        return f"{recipe}: no build in the log yet\n"
    lines = [f"{recipe}: {len(builds)} build{'s' if len(builds) > 1 else ''} in the log"]
    for build in builds:
        board = build.board or "not said"
        lines += ["", f"build {build.number}   {build.day}   board: {board}   code {code_of(build.recipe_sha256)}"]
        lines += [
            f"  {stage:<10}{mass_text(mass, units):>20}{_beside(build, stage, mass)}"
            for stage, mass in build.weighed.items()
        ]
        lines += [f"  {test.day}  {_test_text(test, units)}" for test in build.water_tests]
        lines += [f"  {remark.day}  {' '.join(remark.text.split())}" for remark in build.remarks]
    lines += ["", "What the next one starts from"]
    lines += [f"  {factor.lot}: {factor.ground}" for factor in learned.factors] or [
        "  the tables: no two builds have told anything of one lot yet"
    ]
    lines += [f"  {text}" for text in learned.left_out]
    return "\n".join(lines) + "\n"


def _beside(build: Build, stage: str, mass: float) -> str:
    expected = expected_at(build, stage)
    return "" if expected is None else f"   {mass - expected:+.2f} g from the tables' {expected:.2f} g"


def _test_text(test: WaterTest, units: str) -> str:
    parts: list[str] = [test.state]
    parts += [] if test.water_c is None else [f"water {temperature_text(test.water_c, units)}"]
    parts += (
        [] if test.nose_deg is None else [f"nose {abs(test.nose_deg):g} deg {'down' if test.nose_deg < 0 else 'up'}"]
    )
    parts += [] if test.reserve_g is None else [f"a reserve of {test.reserve_g:+.2f} g"]
    parts += [f"{test.wood_lot} x {test.wood_ratio:.2f}"] if test.wood_lot and test.wood_ratio else []
    if test.depth_m is not None:
        parts.append(f"ran {_far(test.depth_m, units)} deep at {test.speed_m_s:.2f} m/s")
        parts.append(f"{_far(test.line_out_m, units)} of {test.line_mm:g} mm line out")
        parts += [] if test.tip_height_m is None else [f"rod tip {_far(test.tip_height_m, units)} up"]
        parts += [] if test.how is None else [{"tow": "towed", "retrieve": "cast and drawn home"}[test.how]]
        parts.append(_told_text(test, units))
    return ", ".join(parts)


def _told_text(test: WaterTest, units: str) -> str:
    """What the model had said of that dive: without it a depth teaches nothing."""
    if test.told_m is not None:
        return f"told {_far(test.told_m, units)}"
    if test.how is None:
        return "written before depths were told: it teaches no depth"
    return "no depth could be told: it teaches none"


def _far(metres: float | None, units: str) -> str:
    if metres is None:
        return "?"
    return f"{metres:.2f} m" if units == "mm" else f"{metres * FT_PER_M:.1f} ft ({metres:.2f} m)"


def as_document(recipe: str, builds: Sequence[Build], learned: Learned) -> dict[str, Any]:
    """The same for programs; each key ends in its unit."""
    documents = []
    for build in builds:
        document = {**asdict(build), "code": code_of(build.recipe_sha256)}
        document["expected"] = [
            {"stage": e.stage, "lot": e.lot, "mass_g": e.mass, "sd_g": e.sd} for e in build.expected
        ]
        documents.append(document)
    factors = [{**asdict(factor), "ground": factor.ground} for factor in learned.factors]
    return {"recipe": recipe, "builds": documents, "learned": factors, "left_out": list(learned.left_out)}


def check_csv_name(path: Path) -> None:
    """Refuse a place for a table that is none.

    Raises
    ------
    InputError
        A name that does not end in ``.csv``: it might be somebody's recipe. Or a folder that is not there.
    """
    refuse_place(path, "--csv", (".csv",), "a CSV file")


def export_csv(builds: Sequence[Build], path: Path) -> int:
    """Write the builds as CSV (RFC 4180, UTF-8), one row a record, and return the number of rows.

    The file appears whole or not at all.

    Raises
    ------
    InputError
        As ``check_csv_name``.
    BodygenError
        It cannot be written.
    """
    check_csv_name(path)
    text = StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    rows = list(chain.from_iterable(map(_rows, builds)))
    writer.writerows({key: harmless(value) for key, value in row.items()} for row in rows)
    write_whole(path, text.getvalue().encode(), "the table")
    return len(rows)


def harmless(value: object) -> object:
    """Mark a text that a spreadsheet would take for a formula and run; a number stays a number.

    An apostrophe before the sign, as OWASP's page "CSV Injection" has it (from memory).
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")) else value


def _rows(build: Build) -> Iterator[dict[str, object]]:
    same = {name: getattr(build, name) for name in ("recipe", "recipe_sha256", "bodygen_version", "board")}
    same |= {"build": build.number, "code": code_of(build.recipe_sha256)}
    yield {**same, "record": "build", "day": build.day}
    for reading in build.readings:
        expected = expected_at(build, reading.stage)
        rounded = None if expected is None else round(expected, 4)
        yield {**same, "record": "reading", **asdict(reading), "expected_g": rounded}
    for test in build.water_tests:
        yield {**same, "record": "water_test", **asdict(test)}
    for remark in build.remarks:
        yield {**same, "record": "remark", **asdict(remark)}
