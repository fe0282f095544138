"""A search is asked for the figures of a design that is known, and finds that design.

Each problem changes a demo by hand to values that a maker can set, reads the figures, and asks for them from ranges
around. By construction the answer is exact; the figures must come back within 1 %, the values within 1 % or a step.
"""

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from amount import MORE

from bodygen import units
from bodygen.study.plan.designs import design_of
from bodygen.study.rows.row import row_of
from bodygen.study.said.model import Range, Study, Values, Varied
from bodygen.study.said.read import read_study
from bodygen.study.said.written import written
from bodygen.study.searching import search

PARAMS = Path(__file__).parents[2] / "params"
BOARDS = {"B1": 1010, "B2": 770, "B3": 1180}
RESERVE, MASS, PITCH, DEPTH = "float.reserve_g", "total.mass_g", "float.pitch_deg", "dive.depth_m"
PERCH, ROACH, REED, DACE = "tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "beck-dace-80"


@dataclass(frozen=True)
class Known:
    """A design: each key with what varies, as the study's file has it, and the text that it hides."""

    name: str
    recipe: str
    keys: dict[str, tuple[str, str]]
    figures: tuple[str, ...]
    board: str | None = None
    limits: tuple[tuple[str, str], ...] = ()
    best: tuple[str, str] | None = None
    designs: int = 150


THICK = {"shape.thickness": ('from = "9/16 in"\nto = "11/16 in"', "39/64 in")}
HOLE = {"bore[1].depth": ('from = "1/4 in"\nto = "7/16 in"', "11/32 in")}
LIP = {"lip.angle": ('from = "30 deg"\nto = "60 deg"', "47 deg")}
X = 'from = "1 in"\nto = "1-3/8 in"'
DENSITY = {"wood.density_g_cm3": ("from = 0.35\nto = 0.50", "0.44")}
LONG = {"lip.length": ('from = "1/2 in"\nto = "3/4 in"', "43/64 in")}
DRILL = {"bore[2].drill": ('values = ["4 mm", "4.5 mm", "5 mm"]', "5 mm")}
PROBLEMS = [
    Known("thickness for a reserve", PERCH, THICK, (RESERVE,)),
    Known("angle for a depth", PERCH, LIP, (DEPTH,)),
    Known("place of the ballast for a pitch", PERCH, {"bore[1].x": (X, "1-5/32 in")}, (PITCH,)),
    Known("thickness and ballast", PERCH, THICK | HOLE, (RESERVE, MASS)),
    Known("thickness and angle", PERCH, THICK | LIP, (RESERVE, DEPTH)),
    Known("ballast and its place", PERCH, HOLE | {"bore[1].x": (X, "1-7/32 in")}, (MASS, PITCH)),
    Known("three at once", PERCH, THICK | HOLE | LIP, (RESERVE, MASS, DEPTH), designs=250),
    Known("density and thickness", PERCH, THICK | DENSITY, (RESERVE, MASS)),
    Known("a board and thickness", PERCH, THICK, (RESERVE, MASS), board="B2"),
    Known("another board, ballast", PERCH, THICK | HOLE, (RESERVE, MASS, PITCH), board="B3", designs=250),
    Known("a species and thickness", PERCH,
          THICK | {"wood.species": ('values = ["basswood", "balsa", "paulownia"]', "paulownia")}, (RESERVE, MASS)),
    Known("lip's length and angle", PERCH, LIP | LONG, (DEPTH, MASS),
          designs=250),
    Known("thickness by the reserve, mm", ROACH, {"shape.thickness": ("from = 10\nto = 13", "11.7 mm")}, (RESERVE,)),
    Known("depth and thickness", ROACH,
          {"shape.thickness": ("from = 10\nto = 13", "11.6 mm"), "shape.depth": ("from = 21\nto = 24", "22.7 mm")},
          ("body.volume_cm3", "body.wetted_area_cm2")),
    Known("metal and density", ROACH,
          {"bore[1].fill.mass": ("from = 1.5\nto = 3", "2.6 g"),
           "wood.density_g_cm3": ("from = 0.12\nto = 0.25", "0.2")},
          (MASS, PITCH)),
    Known("a drill from a list and thickness", ROACH,
          {"shape.thickness": ("from = 10\nto = 13", "11.3 mm")} | DRILL,
          (RESERVE, MASS)),
    Known("two holes", REED,
          {"bore[1].depth": ("from = 3.5\nto = 6", "4.4 mm"),
           "lip.angle": ('from = "15 deg"\nto = "40 deg"', "31 deg")},
          (RESERVE, DEPTH)),
    Known("holes of a measured body", DACE,
          {"bore[3].depth": ("from = 4\nto = 8", "6.9 mm"), "bore[3].x": ("from = 42\nto = 52", "48.6 mm")},
          (MASS, PITCH)),
    Known("as much reserve as a mass allows", PERCH, THICK, (), limits=((MASS, "most"),), best=(RESERVE, "most")),
    Known("as light as a reserve allows", PERCH,
          THICK | {"bore[1].depth": ('from = "11/32 in"\nto = "7/16 in"', "11/32 in")}, (),
          limits=((RESERVE, "least"),),
          best=(MASS, "least")),
]  # fmt: skip
PLAIN = ("thickness for a reserve",)


def asked(folder: Path, known: Known) -> tuple[Study, dict[str, float]]:
    """Write the study, with the figures of the hidden design as its targets or limits."""
    for path in PARAMS.glob(f"{known.recipe}.*"):
        shutil.copy(path, folder)
    names = (*known.figures, *(figure for figure, _ in known.limits), *([known.best[0]] if known.best else ()))
    head = f'format = 1\nrecipe = "{known.recipe}.toml"\nseed = 3\nkeep = {list(dict.fromkeys(names))}\n'
    vary = "".join(f'[[vary]]\nkey = "{key}"\n{spread}\n' for key, (spread, _) in known.keys.items())
    if known.board:
        vary += "".join(
            f'[[board]]\nname = "{b}"\nsize = ["900 mm", "120 mm", "22 mm"]\nmass = {g}\n' for b, g in BOARDS.items()
        )
    file = folder / "known.toml"
    file.write_text(f'{head}[plan]\nhow = "monte_carlo"\ndesigns = 1\n{vary}', encoding="utf-8")
    plain = read_study(file)
    board = list(BOARDS).index(known.board) if known.board else None
    texts = [
        text if isinstance(one.spread, Values) else written(one, _number(one, text))
        for one, (_, text) in zip(plain.varied, known.keys.values(), strict=True)
    ]
    hidden = row_of(plain, design_of(plain, 1, texts, board))
    assert hidden["failed"] is None
    columns = {column.path.removesuffix(".likely"): column.name for column in plain.columns}
    figures = {name: float(hidden[columns[name]]) for name in names}
    aims = "".join(
        f'[[aim]]\nfigure = "{name}"\ntarget = {figures[name]!r}\nwithin = {abs(figures[name]) / 1000!r}\n'
        for name in known.figures
    )
    if known.best:
        aims += f'[[aim]]\nfigure = "{known.best[0]}"\nas_can_be = "{known.best[1]}"\n'
    aims += "".join(f'[[limit]]\nfigure = "{name}"\n{end} = {figures[name]!r}\n' for name, end in known.limits)
    file.write_text(f"{head}[search]\ndesigns = {known.designs}\n{vary}{aims}", encoding="utf-8")
    return read_study(file), {columns[name]: value for name, value in figures.items()}


@pytest.mark.parametrize("known", [p for p in PROBLEMS if MORE or p.name in PLAIN], ids=lambda p: p.name)
def test_a_search_finds_a_known_design(known: Known, tmp_path: Path) -> None:
    study, figures = asked(tmp_path, known)
    found, rows = search(study, lambda designs: [row_of(study, design) for design in designs])
    assert len(rows) == len(found.tried) <= known.designs
    offer = found.offers[0]
    row = rows[offer.design]
    assert offer.within_limits
    assert {name: row[name] for name in figures} == pytest.approx(figures, rel=0.01)
    for one, (_, text) in zip(study.varied, known.keys.values(), strict=True):
        if isinstance(one.spread, Values):
            assert row[one.column] == (dict(zip(one.spread.texts, one.spread.numbers, strict=False)).get(text, text))
        else:
            assert isinstance(one.spread, Range)
            assert row[one.column] == pytest.approx(_number(one, text), rel=0.01), one.key
    if known.board:
        assert row["board"] == known.board


def _number(one: Varied, text: str) -> float:
    """A value in the column's unit: "39/64 in" in mm."""
    return units.length(text) if one.unit == "mm" else float(text.split(maxsplit=1)[0])
