"""``[batch]`` of a study's file: how many pieces, sawn how, with which reserve; and what its boards say besides.

Knows keys and mistakes. Knows nothing of what a run makes of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bodygen import units
from bodygen.recipe.keys import Key
from bodygen.recipe.keys.key import choice, tables_of, text
from bodygen.recipe.text.read_context import ReadContext, Values
from bodygen.tables import load

Spare = Literal["wood", "metal", "boards"]
RESERVE_TAKEN = 'least and greatest reserve in brackets, such as ["1.0 g", "2.0 g"]'
FLAW_TAKEN = (
    'flaws as [from the left end, from the lower edge, long, wide] each, such as [["120 mm", 0, "35 mm", "20 mm"]]'
)
BLANKS_TAKEN = 'what weighed blanks of it read, such as ["18.6 g", "19.1 g"]'
RESERVE = Key("other", about="least and greatest lift to spare, wholly under", example=["1.0 g", "2.0 g"])
PIECES = Key("whole", "batch_pieces", "how many pieces", 50)
LOT = {
    "name": text("what its pieces are called", "slow", required=True),
    "pieces": Key("whole", "batch_pieces", "how many of them", 20, required=True),
    "reserve": Key("other", about="their least and greatest lift to spare", example=["0.2 g", "0.8 g"], required=True),
}
BATCH = {
    "pieces": PIECES,
    "reserve": RESERVE,
    "saw": Key("length", "batch_saw_mm", "what its blade takes away, the kerf", "1.5 mm", required=True),
    "spare": choice("what to use least of", "wood", "metal", "boards", left_out='"wood"'),
    "bore": text("the ballast bore whose depth is found", "ballast", left_out="the first one for ballast"),
    "varies": Key("percent", "batch_varies_percent", "how much blanks of one board differ, one deviation", "3 %"),
    "lot": tables_of("Pieces of one bait that are to float differently, instead of pieces and reserve.", LOT),
}
BOARD_BESIDES = {
    "flaws": Key("other", about="what no blank may hold: knots, splits", example=[["120 mm", 0, "35 mm", "20 mm"]]),
    "grain": choice("which way the grain runs, against the board's length", "along", "across", left_out='"along"'),
    "blanks": Key("other", about="what squared blanks of it weighed", example=["18.6 g"]),
}


@dataclass(frozen=True, slots=True)
class Lot:
    """Pieces that are to float alike: ``reserve`` from least to greatest [g]; ``key`` is where it was asked for."""

    name: str
    pieces: int
    reserve: tuple[float, float]
    key: str = "batch.pieces"


@dataclass(frozen=True, slots=True)
class Batch:
    """A run: its lots, the ``saw``'s kerf [mm], what to use least of, the bore's name, how boards vary within [-]."""

    lots: tuple[Lot, ...]
    saw: float
    spare: Spare = "wood"
    bore: str | None = None
    varies: float | None = None


def labels(pieces: int) -> tuple[str, ...]:
    """What so many pieces are called, on paper, wood and in the log.

    >>> labels(3)
    ('P01', 'P02', 'P03')
    """
    digits = max(2, len(str(pieces)))
    return tuple(f"P{number:0{digits}d}" for number in range(1, pieces + 1))


def read_batch(ctx: ReadContext, values: Values, boards: int) -> Batch | None:
    """Put the keys of ``[batch]`` together; None, and the mistakes noted, where they do not go together."""
    before = len(ctx.mistakes)
    lots = _lots(ctx, values)
    if not boards:
        ctx.missing("board", "a run of pieces is cut from boards: [[board]] with name, size and mass, once for each")
    if len(ctx.mistakes) > before or "saw" not in values:
        return None
    varies = values.get("varies")
    return Batch(lots, values["saw"], values.get("spare", "wood"), values.get("bore"), varies and varies / 100)


def _lots(ctx: ReadContext, values: Values) -> tuple[Lot, ...]:
    """The lots as told, or all pieces as one."""
    if "lot" not in values:
        for name in ("pieces", "reserve"):
            if name not in values and f"batch.{name}" not in ctx.written:
                ctx.missing(f"batch.{name}", "how many pieces" if name == "pieces" else RESERVE_TAKEN)
        band = _reserve(ctx, "batch.reserve", values["reserve"]) if "reserve" in values else None
        return (Lot("", values["pieces"], band),) if band and "pieces" in values else ()
    for name in ("pieces", "reserve"):
        if name in values:
            ctx.fault(f"batch.{name}", "said here, and of each lot.", "either this or [[batch.lot]]")
    lots: list[Lot] = []
    for path, one, clean in values["lot"]:
        band = _reserve(ctx, f"{path}.reserve", one["reserve"]) if "reserve" in one else None
        if clean and one["name"] in {lot.name for lot in lots}:
            ctx.fault(f"{path}.name", "there is a lot of this name.", "another name")
        elif clean and band:
            lots.append(Lot(one["name"], one["pieces"], band, f"{path}.pieces"))
    return tuple(lots)


def _reserve(ctx: ReadContext, key: str, raw: object) -> tuple[float, float] | None:
    """Read a band of masses [g]."""
    found = _quantities(ctx, key, raw, "mass", RESERVE_TAKEN, count=2)
    if found is None:
        return None
    if not found[0] < found[1]:
        ctx.fault(key, "the least is not less than the greatest.", RESERVE_TAKEN)
        return None
    return found[0], found[1]


def said_besides(ctx: ReadContext, path: str, values: Values) -> Values:
    """What a board says besides name, size and mass, in mm and g."""
    found: Values = {}
    if "flaws" in values:
        found["flaws"] = read_flaws(ctx, f"{path}.flaws", values["flaws"], values["size"])
    if "blanks" in values:
        found["blanks"] = read_blanks(ctx, f"{path}.blanks", values["blanks"])
    return found


def read_flaws(
    ctx: ReadContext, key: str, raw: object, size: Sequence[float]
) -> tuple[tuple[float, float, float, float], ...]:
    """Read a board's flaws [mm]: each inside its face, as many as may be told."""
    if not isinstance(raw, list) or not all(isinstance(one, list) for one in raw):
        ctx.fault(key, "not a list of lists.", FLAW_TAKEN)
        return ()
    most = int(load("batch")["saw"]["most_flaws"])
    if len(raw) > most:
        ctx.fault(key, f"{len(raw)} flaws, more than {most}.", "neighbouring ones told as one")
        return ()
    found: list[tuple[float, float, float, float]] = []
    for number, one in enumerate(raw, 1):
        read = _quantities(ctx, f"{key}[{number}]", one, "length", FLAW_TAKEN, count=4)
        if read is None:
            continue
        x, y, long, wide = read
        if min(x, y) < 0 or min(long, wide) <= 0 or x >= size[0] or y >= size[1]:
            accepted = f"a part of its face, {ctx.length_text(size[0])} x {ctx.length_text(size[1])}"
            ctx.fault(f"{key}[{number}]", "not on the board.", accepted)
            continue
        found.append((x, y, long, wide))
    return tuple(found)


def read_blanks(ctx: ReadContext, key: str, raw: object) -> tuple[float, ...]:
    """Read what blanks of a board weighed [g]."""
    found = _quantities(ctx, key, raw, "mass", BLANKS_TAKEN)
    if found is not None and any(not 0 < grams <= 2000 for grams in found):
        ctx.fault(key, "no bench sees that.", BLANKS_TAKEN)
        return ()
    return tuple(found or ())


def _quantities(
    ctx: ReadContext,
    key: str,
    raw: object,
    quantity: Literal["mass", "length"],
    accepted: str,
    count: int | None = None,
) -> list[float] | None:
    """Read a list of quantities; None and a mistake where it is none."""
    if not isinstance(raw, list) or (count is not None and len(raw) != count):
        ctx.fault(key, "not a list." if count is None else f"not a list of {count}.", accepted)
        return None
    try:
        bare = ctx.units if quantity == "length" else "g"
        return [float(units.fraction(one, quantity, bare)) for one in raw]
    except units.UnitError as error:
        ctx.fault(key, error.problem, accepted)
        return None
