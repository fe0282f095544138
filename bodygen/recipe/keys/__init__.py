"""Every key that a recipe may hold, said once: what it is, its kind and bounds, and what stands for it when left out.

README's reference, ``bodygen explain``, the starter's comments and the schema that editors read are made from these.
Knows nothing of reading them (``recipe/text/read_context.py``) nor of which keys go together (each table's reader).
"""

from bodygen.recipe.keys.bench import GOAL, LIMITS, LINE, RETRIEVE, SHOP, WATER, WEIGHED
from bodygen.recipe.keys.body import SHAPE, WOOD
from bodygen.recipe.keys.cuts import BORE, WIRE_SLOT
from bodygen.recipe.keys.finish import FINISH, PAINT
from bodygen.recipe.keys.key import BARE, FORMAT, STAGES, Key, bounds, choice, table, tables_of, text
from bodygen.recipe.keys.lip import LIP
from bodygen.recipe.keys.worn import COAT, FITTING, MASK

__all__ = ["BARE", "FORMAT", "RECIPE", "STAGES", "Key", "bounds"]

RECIPE: dict[str, Key] = {
    "format": Key("whole", about="the form of this file: always 1", example=FORMAT, required=True),
    "name": text("the bait's name, as every sheet shows it", "Tarn perch 70", left_out="the file's name"),
    "units": choice("what bare lengths are in, and everything that is printed", "mm", "in", left_out='"mm"', example=1),
    "shape": table("The body: exactly one of the keys of a drawn body, stations, or mesh.", SHAPE, required=True),
    "wood": table("What the body is made of: a species, the density of your board, or a weighed blank.", WOOD),
    "bore": tables_of("One table for each drilled hole.", BORE),
    "wire_slot": tables_of("A kerf sawn in the middle, for a wire from end to end.", WIRE_SLOT),
    "lip": table("The lip and its slot; leave the table out for a lipless bait.", LIP),
    "fitting": tables_of("Hooks, rings, eyes, wire, and any other weight in hand.", FITTING),
    "coat": tables_of("What is brushed, dipped or sprayed on, in the order it goes on.", COAT),
    "mask": tables_of("A region of the skin that is painted by itself, for a mask to cut.", MASK),
    "paint": tables_of("A layer of colour, in the order they go on: the last coat of paint in parts.", PAINT),
    "finish": table("When and in what air the coats go on: what the calendar is made from.", FINISH),
    "water": table("The water that the bait floats in.", WATER),
    "line": table("The line that you fish it on: what `bodygen dive` tells a depth for.", LINE),
    "retrieve": table("How it is fished: what `bodygen dive` tells a depth for.", RETRIEVE),
    "limits": table(
        "The least wood left before bodygen warns, where you want another figure than the usual one.", LIMITS
    ),
    "shop": table("The printer, cutters and boards at hand, where they are not the usual ones.", SHOP),
    "goal": table("How you want it to lie: say what you care for and leave the rest out.", GOAL),
    "weighed": table(
        "What the scale said at each step: it is set beside what was expected, and the wood's density follows from it.",
        WEIGHED,
    ),
}
