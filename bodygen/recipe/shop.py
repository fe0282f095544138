"""``[shop]``: the printer, cutters and boards at hand; whether the named cutters exist and have the right end.

Knows names and shapes of cutters. Knows nothing of what they cut (``shop/``).
"""

from bodygen import tables
from bodygen.recipe.model import Shop
from bodygen.recipe.page import Page, Values, no_such_name

SHAPES = {"roughing": "flat", "finishing": "ball", "profile_cutter": "flat"}


def read_shop(page: Page, values: Values) -> Shop:
    """Make the shop; an unknown cutter, one with the wrong end, or a bush narrower than its cutter is noted."""
    rows = tables.load("cutters")["cutter"]
    for key, shape in SHAPES.items():
        if key in values:
            known = tuple(name for name, row in rows.items() if row["shape"] == shape)
            if values[key] not in rows:
                no_such_name(page, f"shop.{key}", values[key], known)
            elif values[key] not in known:
                page.fault(f"shop.{key}", f"not a {shape} cutter.", ", ".join(known))
    if "bush" in values and "cutter" in values and values["bush"] < values["cutter"]:
        page.fault("shop.bush", "narrower than the cutter in it.", "shop.cutter or more, measured across its outside")
    return Shop(**values)
