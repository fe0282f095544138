"""Every key a recipe may hold: what kind of thing it is, between which bounds, and whether it may be left out.

Knows names and kinds. Knows nothing of reading them (``page.py``) nor of which keys go together (each table's reader).
"""

from bodygen.recipe.keys.bench import GOAL, LIMITS, LINE, RETRIEVE, SHOP, WATER, WEIGHED
from bodygen.recipe.keys.body import SHAPE, WOOD
from bodygen.recipe.keys.cuts import BORE, WIRE_SLOT
from bodygen.recipe.keys.key import BARE, FORMAT, STAGES, Key, bounds
from bodygen.recipe.keys.lip import LIP
from bodygen.recipe.keys.worn import COAT, FITTING, MASK

__all__ = ["BARE", "FORMAT", "RECIPE", "STAGES", "Key", "bounds"]

RECIPE: dict[str, Key] = {
    "format": Key("whole", required=True),
    "name": Key("text"),
    "units": Key("choice", choices=("mm", "in")),
    "shape": Key("table", required=True, table=SHAPE),
    "wood": Key("table", table=WOOD),
    "bore": Key("tables", table=BORE),
    "wire_slot": Key("tables", table=WIRE_SLOT),
    "lip": Key("table", table=LIP),
    "fitting": Key("tables", table=FITTING),
    "coat": Key("tables", table=COAT),
    "mask": Key("tables", table=MASK),
    "water": Key("table", table=WATER),
    "line": Key("table", table=LINE),
    "retrieve": Key("table", table=RETRIEVE),
    "limits": Key("table", table=LIMITS),
    "shop": Key("table", table=SHOP),
    "goal": Key("table", table=GOAL),
    "weighed": Key("table", table=WEIGHED),
}
