"""What stands on the card's first page in words: blocks with a heading, in the sentences of the build sheet.

Knows the assessment. Knows no paper.
"""

from dataclasses import dataclass
from functools import partial

from bodygen.assessment import Assessment, answer_of
from bodygen.form.blank import Blank, blank_of, default_allowance
from bodygen.form.bore_words import depth_figures
from bodygen.form.cuts import Prism
from bodygen.report.blocks import goal_text, metal_words, spread_text
from bodygen.report.card.lettering import paragraphs
from bodygen.report.dive import dive_text, is_not, range_text
from bodygen.report.pictures.title import TableRow, entries_of
from bodygen.report.summary import floating_text
from bodygen.report.wire import cut_words, holds_of
from bodygen.shop.lip.angles import saw_leans
from bodygen.tables import load
from bodygen.units import angle_text, length_text


@dataclass(frozen=True, slots=True)
class Block:
    """A heading with its paragraphs."""

    title: str
    text: tuple[str, ...]


def front_blocks(a: Assessment) -> list[Block]:
    """Metal, lip, what is worn, the tub, the dive: in the order of the bench; blocks without a word are left out."""
    tub = [*paragraphs(floating_text(a)), *paragraphs(goal_text(answer_of(a)))]
    tub += paragraphs(spread_text(a.spread))[:1] if a.spread else []
    dive = paragraphs(dive_text(a))
    if a.dive is not None:
        dive = [*paragraphs(range_text(a.dive, a.recipe.units, a.flotation.water_g_cm3)), is_not()]
    blocks = (
        Block("Metal", tuple(metal_words(a))),
        Block("Lip", tuple(_lip(a))),
        Block("Wire, eyes, rings and hooks", (*cut_words(a, forms=True), *_worn(a), *_holds(a))),
        Block("In the tub", tuple(tub)),
        Block("How deep it runs", tuple(dive)),
    )
    return [block for block in blocks if block.text]


def _lip(a: Assessment) -> list[str]:
    """Sheet, sizes, and how the saw is set."""
    lip, plate, units = a.recipe.lip, a.shaped.plate, a.recipe.units
    if lip is None or plate is None:
        return []
    x0, y0, x1, y1 = plate.outline.box
    sheet = load("sheet")["sheet"][lip.sheet]["name"]
    leans = saw_leans(lip)
    way = ("aft" if leans >= 0 else "ahead") if lip.entry == "belly" else "up"
    face = "the belly face" if lip.entry == "belly" else "the nose end"
    leaning, tongue = f"{angle_text(abs(leans))} {way}", length_text(plate.tongue_length, units)
    told = [
        f"{sheet}, {length_text(lip.thickness, units)} thick; kerf {length_text(plate.slot_thickness, units)}",
        f"{length_text(y1 - y0, units)} wide, {length_text(x1 - x0, units)} long with its tongue of {tongue}",
        f"plate {angle_text(lip.angle)} below straight ahead; the saw leans {leaning} from square to {face}",
    ]
    if lip.bend is not None:
        told.append(
            f"bend it by {angle_text(lip.bend.angle)}, {length_text(lip.bend.distance, units)} from the slot's mouth"
        )
    return told


def _worn(a: Assessment) -> list[str]:
    """What is set in, hung on or tied in, as the recipe names it; what is of one kind and size together."""
    told: dict[str, list[str]] = {}
    for fitting in a.recipe.fittings:
        if fitting.bent is not None:
            continue  # what to cut says it
        size = f" {fitting.size}" if fitting.size else ""
        many = f", {fitting.quantity} of them" if fitting.quantity > 1 else ""
        many += ", on both flanks" if fitting.mirror else ""
        on = f" on {fitting.on}" if fitting.on else ""
        told.setdefault(f"{fitting.kind.replace('_', ' ')}{size}", []).append(f"{fitting.name}{on}{many}")
    return [f"{kind}: {', '.join(names)}" for kind, names in told.items()]


def _holds(a: Assessment) -> list[str]:
    """What the hangers hold, those that hold alike together."""
    names: dict[str, list[str]] = {}
    for name, words in holds_of(a):
        names.setdefault(words, []).append(name)
    return [f"{', '.join(several)}: {words}" for words, several in names.items()]


def blank_of_bait(a: Assessment) -> Blank:
    """The squared blank that template, drill block and card share."""
    caster, recipe = a.shaped.caster, a.recipe
    return blank_of(caster.low, caster.high, default_allowance(recipe.units), recipe.wood.blank_size)


@dataclass(frozen=True, slots=True)
class CutRow:
    """One row of the table of cuts: its number on the picture, the tools that it stands for, and its columns."""

    number: str
    places: tuple[int, ...]
    cells: tuple[str, ...]


def cut_heads(units: str) -> tuple[str, ...]:
    """Heads of the table's columns; ``units`` of its bare figures."""
    return "", "what", "drill and tip, or saw", f"from the nose ({units}), where", "depth at the stop"


def cut_rows(a: Assessment) -> list[CutRow]:
    """Every bore and saw cut in the recipe's order: what, which bit, from where, how deep."""
    return [_cut_row(a, entry) for entry in entries_of(a.recipe, a.shaped.tools)]


def _cut_row(a: Assessment, entry: TableRow) -> CutRow:
    name, bit, depth, x, across, lean = entry.cells
    tool = a.shaped.tools[entry.places[0]]
    lean = "" if lean in {"", "square"} else f", {lean}"
    if isinstance(tool, Prism):
        return CutRow(entry.number, entry.places, (entry.number, name, bit, f"{x}, {across}{lean}", depth))
    bore = a.recipe.bores[tool.bore]
    deep = depth_figures(bore, partial(length_text, units=a.recipe.units))
    deep += f"; mouth{depth.partition('; mouth')[2]}" if bore.counterbore else ""
    return CutRow(entry.number, entry.places, (entry.number, name, bit, f"{x}, {across}{lean}", deep))
