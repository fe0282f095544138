"""The tables of random recipes: what a person may write under each, near misses included.

Sizes are said by a ``Maker``, who has one ruler and writes lengths and masses as they come to hand.
"""

from fractions import Fraction
from typing import Any

import numpy as np

from bodygen import tables
from bodygen.recipe.keys import RECIPE, STAGES
from bodygen.recipe.readers.items import sizes
from bodygen.recipe.readers.lip import labels

Doc = dict[str, Any]
Rng = np.random.Generator
Size = tuple[float, float, float]  # length, depth, thickness [mm]
INCH = 25.4
NAMES = ("lip", "clear", "wood", "film of clear", "ballast: tungsten_putty", 'the "big" one', "Öse 3", "glue", "hull")
NAMES += ("primer_white", "total", "lip, tongue", "wood left", "hanger 1", "bore[1]", "float.pitch", "  two  words ")


class Maker:
    """One person with one ruler: says sizes the way they come to hand."""

    def __init__(self, rng: Rng, ruler: str) -> None:
        self.rng, self.ruler = rng, ruler

    def any(self, *choices: Any) -> Any:
        """One of the choices."""
        return choices[int(self.rng.integers(len(choices)))]

    def often(self, share: float) -> bool:
        """True in this share of all cases."""
        return bool(self.rng.random() < share)

    def between(self, low: float, high: float) -> float:
        """A number between two."""
        return float(self.rng.uniform(low, high))

    def length(self, mm: float) -> str | float:
        """A length as this maker may write it: bare, with a unit, as a fraction of an inch."""
        inches = mm / INCH
        step = Fraction(round(inches * 64), 64)
        whole, part = divmod(step, 1)
        way = int(self.rng.integers(5))
        if way == 0 and step > 0 and abs(float(step) * INCH - mm) < min(0.05, 0.02 * mm):
            text = f"{whole}{self.any('-', ' ')}{part}" if whole and part else str(part or whole)
            return text + self.any(" in", '"')
        if way == 1:
            return f"{mm / 10:.4f} cm"
        if way == 2:
            return f"{inches:.5f} in"
        if way == 3:
            return f"{mm:.3f} mm"
        return round(mm, 3) if self.ruler == "mm" else round(inches, 5)

    def mass(self, grams: float) -> str | float:
        """A mass in grams, grains or ounces."""
        return self.any(
            round(grams, 3), f"{grams:.3f} g", f"{grams / 28.349523125:.5f} oz", f"{grams * 15.4324:.2f} gr"
        )

    def name(self) -> str:
        """A name that a program may be tempted to read something into."""
        return f"{self.any(*NAMES)}{self.any('', '', ' b', ' 2')}"


def wood(m: Maker, size: Size) -> Doc:
    woods = list(tables.load("woods")["wood"])
    wood: Doc = {"species": m.any(*woods), "moisture_percent": round(m.between(4, 16), 1)} if m.often(0.8) else {}
    if m.often(0.3) or not wood:
        wood["density_g_cm3"] = m.any(round(m.between(0.12, 0.8), 3), f"{m.between(150, 700):.0f} kg/m3")
    if m.often(0.15):
        block = [side + m.between(1, 20) for side in size]
        mass = m.between(0.2, 0.7) * block[0] * block[1] * block[2] / 1000
        sides = zip(("length", "height", "width"), block, strict=True)
        wood["blank"] = {"mass": m.mass(mass)} | {key: m.length(side) for key, side in sides}
    return wood


def bores(m: Maker, size: Size) -> list[Doc]:
    """None to six, some of them beside the body, through it, or into each other."""
    return [_bore(m, size) for _ in range(int(m.any(0, 1, 1, 2, 2, 3, 4, 6)))]


def _bore(m: Maker, size: Size) -> Doc:
    length, depth, thickness = size
    kind = m.any("ballast", "ballast", "hanger", "tie", "eye", "rattle", "through", "any")
    way = m.any("belly", "belly", "back", "side", "nose", "tail", "point") if kind != "eye" else "side"
    bore: Doc = {"kind": kind} | ({"from": way} if kind != "eye" or m.often(0.5) else {}) | _way_in(m, way, size)
    wide = min(depth, thickness) * m.between(0.04, 0.4)
    if m.often(0.2):
        bore["drill"] = m.any("#56", "#60", "1/16", "3/32", "1/8", "2 mm", "3.5 mm")
    else:
        bore["diameter"] = m.length(max(wide, 0.6))
    if kind != "through":
        reach = length * 0.35 if way in {"nose", "tail"} else thickness if way == "side" else depth
        bore |= _bottom(m, reach)
    if m.often(0.15) and "diameter" in bore:
        bore["counterbore"] = {"diameter": m.length(wide * 1.6 + 1), "depth": m.length(m.between(0.4, 0.2 * depth))}
    if m.often(0.4):
        bore["closed"] = m.any("open", "sealed", "filled")
    return bore | ({"fill": _fill(m)} if kind == "ballast" and m.often(0.85) else {})


def _way_in(m: Maker, way: str, size: Size) -> Doc:
    length, depth, thickness = size
    place: Doc = {}
    if way in {"belly", "back", "side"}:
        place["x"] = m.length(length * m.between(0.1, 0.9) if m.often(0.93) else length * m.between(0.9, 1.1))
    if way in {"side", "nose", "tail"} and m.often(0.7):
        place["height"] = m.length(depth * m.between(-0.2, 0.2))
    if way in {"belly", "back", "nose", "tail"} and m.often(0.2):
        place |= {"offset": m.length(thickness * m.between(-0.3, 0.3)), "mirror": m.often(0.5)}
    if way == "side":
        place |= {"side": m.any("left", "right")} | ({"mirror": m.often(0.5)} if m.often(0.5) else {})
    if way == "point":
        place["at"] = [m.length(length * m.between(0.2, 0.8)), 0, m.length(-depth * m.between(0, 0.5))]
        place["direction"] = [round(m.between(*ends), 2) for ends in ((-1, 1), (-0.3, 0.3), (0.2, 1))]
    elif m.often(0.25):
        place["lean"] = f"{m.between(-35, 35):.1f} deg"
    return place


def _bottom(m: Maker, reach: float) -> Doc:
    bottom: Doc = {"depth": m.length(max(reach * m.between(0.05, 0.6 if m.often(0.9) else 1.3), 0.4))}
    bottom["tip"] = m.any("twist", "flat", "ball")
    if bottom["tip"] == "twist" and m.often(0.4):
        bottom["tip_angle"] = f"{m.any(90, 118, 135)} deg"
    return bottom | ({"depth_to": m.any("shoulder", "point")} if m.often(0.5) else {})


def _fill(m: Maker) -> Doc:
    metals = tables.load("metals")["metal"]
    metal = m.any(*metals)
    fill: Doc = {"metal": metal, "placed": m.any("slug", "putty", *["poured"] * bool(metals[metal]["pour_into_wood"]))}
    if m.often(0.6):
        fill["level"] = round(m.between(0.1, 1.0), 2)
    if m.often(0.15):
        fill["mass"] = m.mass(m.between(0.1, 8))
    if fill["placed"] == "slug" and m.often(0.3):
        fill["clearance"] = m.length(m.between(0, 0.4))
    return fill | ({"finish": m.any("flush", "flat")} if m.often(0.4) else {})


def wire_slot(m: Maker, size: Size) -> Doc:
    length, depth, _ = size
    start, end = length * m.between(0.02, 0.4), length * m.between(0.5, 0.98)
    slot: Doc = {"along": m.any("belly", "back"), "start": m.length(start), "end": m.length(end)}
    slot["width"] = m.length(m.between(0.6, 2.0))
    slot |= (
        {"depth": m.length(max(0.6, depth * m.between(0.05, 0.5)))}
        if m.often(0.6)
        else {"floor": m.length(depth * m.between(-0.2, 0.2))}
    )
    return slot | ({"closed": m.any("open", "sealed", "filled")} if m.often(0.5) else {})


def lip(m: Maker, size: Size) -> Doc:
    length, depth, thickness = size
    sheets = [name for name, row in tables.load("sheet")["sheet"].items() if "lip" in row["use"]]
    sheet = m.any(*sheets)
    sold = labels(sheet)
    lip: Doc = {"sheet": sheet, "angle": round(m.between(0, 100), 1)}
    lip |= {"nominal": m.any(*sold)} if sold and m.often(0.3) else {"thickness": m.length(m.between(0.5, 3.2))}
    if m.often(0.25):
        lip |= {"from": "nose", "height": m.length(depth * m.between(-0.25, 0.15))}
    else:
        lip["x"] = m.length(length * m.between(0.06, 0.3))
    lip["slot_depth"] = m.length(max(0.6, length * m.between(0.02, 0.15)))
    long, half = length * m.between(0.08, 0.5) + 2, thickness * m.between(0.25, 0.9) + 1
    if m.often(0.25):
        at = np.sort([m.between(0.2, 0.5), m.between(0.5, 0.9)]) * long
        wide = [half * 0.5, half * m.between(0.6, 1.0), half, m.any(0.0, half * 0.7)]
        lip["points"] = [[m.length(x), m.length(y)] for x, y in zip([0, *at, long], wide, strict=True)]
    else:
        lip |= {"length": m.length(long), "width": m.length(2 * half)}
        lip |= {"outline": m.any(*tables.load("outlines")["lip"])} if m.often(0.8) else {}

    def some(most: float) -> str | float:
        return m.length(m.between(0.6, most))

    hole = {"diameter": some(3), "distance": m.length(max(2.0, long * m.between(0.1, 0.8)))}
    bend = {"distance": m.length(max(2.0, long * m.between(0.3, 0.9))), "angle": f"{m.between(-40, 60):.0f} deg"}
    optional = {
        "fit": m.length(m.between(-0.1, 0.4)),
        "slot_width": m.length(max(thickness * m.between(0.4, 1.1), 1.0)),
    }
    optional |= {"corner_radius": some(4), "tongue_width": m.length(max(2.0, thickness * m.between(0.3, 1.0)))}
    optional |= {"mass": m.mass(m.between(0.1, 5)), "mouth": {"height": some(4), "depth": some(6)}}
    optional |= {"tie_hole": hole, "bend": bend, "cutting": _cutting(m, long, half)}
    return lip | {key: value for key, value in optional.items() if m.often(0.2)}


def _cutting(m: Maker, long: float, half: float) -> Doc:
    cutting: Doc = {
        "process": m.any("hand", "laser", "router"),
        "kerf": m.length(m.between(0, 3)),
        "quantity": m.any(1, 2, 5),
    }
    wide, high = long * m.between(2, 6) + 20, half * m.between(4, 9) + 20
    if m.often(0.3):
        cutting["offcut"] = [[0, 0], [m.length(wide), 0], [m.length(wide * 0.8), m.length(high)], [0, m.length(high)]]
    elif m.often(0.5):
        cutting["sheet_size"] = [m.length(min(wide, 2900)), m.length(min(high, 2900))]
    if cutting["process"] != "hand" and m.often(0.5):
        cutting |= {"tabs": m.any(1, 2, 3), "tab_width": m.length(m.between(0.3, 2))}
    return cutting | ({"gap": m.length(m.between(0, 6))} if m.often(0.5) else {})


def fitting(m: Maker, size: Size, bores: list[Doc]) -> Doc:
    length, depth, thickness = size
    kind = m.any("weight", "hook", "ring", "eye", "screw_eye", "wire")
    at = [m.length(length * m.between(-0.05, 1.05)), 0, m.length(depth * m.between(-0.7, 0.6))]
    meets = [bore["x"] for bore in bores if "x" in bore]
    if meets and m.often(0.4):  # at a bore, as hardware mostly is
        at[0] = m.any(*meets)
    if m.often(0.2):
        at[1] = m.length(thickness * m.between(-0.4, 0.4))
    fitting: Doc = {"kind": kind, "at": at} if kind != "weight" or m.often(0.5) else {"at": at}
    weighed = [size for size, row in sizes(kind).items() if row.mass is not None]
    if kind != "weight" and m.often(0.9):
        fitting["size"] = m.any(*weighed)
    if "size" not in fitting or m.often(0.15):
        fitting["mass"] = m.mass(m.between(0.05, 4))
    if kind == "hook":
        measured = {m.any("length", "hook_length"): m.length(m.between(8, 40)), "gape": m.length(m.between(2, 15))}
        fitting |= {key: value for key, value in measured.items() if m.often(0.3)}
    if kind == "wire":
        fitting["length"] = m.length(length * m.between(0.1, 1.2) + 1)
    optional = {"stage": m.any(*STAGES[1:]), "displaces_cm3": round(m.between(0, 0.4), 4), "quantity": m.any(1, 2, 3)}
    optional["mirror"] = m.often(0.5) and at[1] != 0
    holding = [bore["name"] for bore in bores if bore.get("name") and bore["kind"] not in {"ballast", "rattle"}]
    if holding and kind in {"hook", "ring", "screw_eye", "wire"} and m.often(0.3):
        fitting["on"] = m.any(*holding)
        del fitting["at"], optional["mirror"]
    return fitting | {key: value for key, value in optional.items() if m.often(0.25)}


def coat(m: Maker) -> Doc:
    finish, row = m.any(*tables.load("coatings")["coat"].items())
    coat: Doc = {"finish": finish, "stage": m.any(*row["stage"].split(" or "))}
    optional = {"coats": m.any(1, 2, 3, 6), "film": m.length(m.between(0.01, 0.3)), "gain": m.mass(m.between(0.05, 2))}
    optional["density_g_cm3"] = round(m.between(0.9, 2.0), 2)
    return coat | {key: value for key, value in optional.items() if m.often(0.4)}


def mask(m: Maker, size: Size) -> Doc:
    kind = m.any("back", "flank", "belly", "bars", "gill", "eye")
    along = {"start": m.length(size[0] * m.between(0.1, 0.4)), "end": m.length(size[0] * m.between(0.5, 0.9))}
    shares = {"low": round(m.between(0.05, 0.5), 2), "high": round(m.between(0.55, 1.0), 2)}
    width = {"width": m.length(m.between(0.6, 4))}
    bars = {"count": m.any(1, 3, 7), "slant": f"{m.between(-30, 30):.0f} deg"}
    more = {
        "bars": {**along, **shares, **width, **bars}, "eye": width,
        "gill": {**shares, **width, "x": m.length(size[0] * m.between(0.15, 0.4))},
    }.get(kind, {**along, **shares})  # fmt: skip
    return {"kind": kind} | {key: value for key, value in more.items() if m.often(0.6)}


def finished(m: Maker, doc: Doc) -> None:
    """Say how and when some of the coats go on, and in which colours."""
    kinds = tables.load("finishes")
    for coat in doc.get("coat", ()):
        more = {"dries_as": m.any(*kinds["finish"]), "after_h": round(m.between(0, 200), 1)}
        more |= {"viscosity": m.any(*kinds["viscosity"]), "draw_speed": f"{m.between(1, 20):.1f} mm/s"}
        coat |= {key: value for key, value in more.items() if m.often(0.15)}
        if "viscosity" not in coat:
            coat.pop("draw_speed", None)
    day = f"{m.any(2031, 2032)}-{m.any('02-28', '03-04', '12-31')}"
    air = {"temperature": f"{m.between(4, 35):.0f} degC", "humidity": round(m.between(20, 95))}
    when = {"days": m.any(["Tue", "Thu"], ["saturday"]), "opens": m.any("18:30", "7:00"), "hours": m.any(3, 0.5, 24)}
    when |= {"lip_glue": m.any("two_part_epoxy_slow", "two_part_epoxy_fast")}
    if m.often(0.4):
        doc["finish"] = {k: v for k, v in ({"start": day} | air | when).items() if m.often(0.7)} or {"start": day}
    if m.often(0.3):
        names = [mask["name"] for mask in doc.get("mask", ()) if "name" in mask]
        through = [{"mask": m.any(*names)}] if names else []
        doc["paint"] = [
            {"colour": m.any("white", "olivedrab", "#fa0", "#102030")}
            | m.any({}, {"region": m.any("whole", "back", "flank", "belly")}, *through)
            | m.any({}, {"name": m.name()})
            for _ in range(m.any(1, 2, 4))
        ]


def rest(m: Maker, size: Size) -> Doc:
    """Tables that stand once: water, line, retrieve, limits, shop, goal, weighed."""
    return {
        "water": _some(m, 0.5, _water(m), 0.7),
        "line": _some(m, 0.3, {"diameter": m.length(m.between(0.1, 0.6)), "length_m": m.any(12, "15 m", "60 ft")}),
        "retrieve": _some(m, 0.3, {"speed_m_s": m.any(0.8, "3 km/h"), "tip_height_m": m.any(0.5, "2 ft", "-1 m")}),
        "limits": _some(m, 0.3, {key: m.length(m.between(0.3, 6)) for key in RECIPE["limits"].table}, 0.5),
        "shop": _some(m, 0.3, _shop(m, size), 0.4),
        "goal": _goal(m, size) if m.often(0.4) else {},
        "weighed": _some(m, 0.12, _weighed(m, size[0] * size[1] * size[2] / 1000), 0.3),
    }


def _some(m: Maker, share: float, table: Doc, each: float = 1.0) -> Doc:
    """A table in this share of all cases, with each of its keys as often."""
    written = m.often(share)
    return {key: value for key, value in table.items() if m.often(each)} if written else {}


def _weighed(m: Maker, box: float) -> Doc:
    """Readings that grow with the work, of a body that fills about half of its box [cm3]."""
    wood = box * m.between(0.12, 0.3)
    return {stage: m.mass(wood * (1 + 0.1 * number)) for number, stage in enumerate(STAGES)}


def _water(m: Maker) -> Doc:
    water = {"temperature": f"{m.between(0, 30):.1f} degC", "salinity": round(m.between(0, 38), 1)}
    return water | ({"density_g_cm3": round(m.between(0.99, 1.04), 4)} if m.often(0.3) else {})


def _shop(m: Maker, size: Size) -> Doc:
    shop: Doc = {
        "printer_bed": [m.length(m.between(60, 300)) for _ in range(3)],
        "fit": m.any("press", "slide", "loose"),
    }
    shop |= {"follower_allowance": m.length(m.between(0.1, 2)), "shrink_percent": round(m.between(0, 3), 2)}
    shop |= {"stock_thickness": m.length(size[1] + m.between(2, 20)), "scallop": m.length(m.between(0.02, 0.2))}
    shop |= {"roughing": m.any("flat_3", "flat_6"), "finishing": m.any("ball_3", "ball_6"), "profile_cutter": "flat_2"}
    shop |= {"cutter": m.length(m.between(3, 6)), "bush": m.length(m.between(7, 17))}
    shop |= {"spindle_speeds": m.any(16000, [8000, 12000, 18000]), "fastest_feed": "2000 mm/min"}
    return shop | {"fastest_plunge": m.any(400, "800 mm/min"), "clamp_height": m.length(m.between(5, 20))}


def _goal(m: Maker, size: Size) -> Doc:
    lifts: Doc = {"reserve": m.mass(m.between(0.2, 3)), "suspends_at": f"{m.between(4, 20):.0f} degC"}
    lifts |= {"sinks_at": "0.1 m/s", "rises_at": "0.3 km/h", "float": m.any("floats", "suspends", "sinks")}
    key = m.any(*lifts)
    goal: Doc = {key: lifts[key]}
    if m.often(0.5):
        goal["pitch"] = f"{m.between(-20, 30):.0f} deg"
    elif m.often(0.3):
        goal["waterline"] = {"x": m.length(size[0] * m.between(0.2, 0.8)), "height": m.length(size[1] * 0.1)}
    more = {
        "bores": m.any("given", "one", "two"),
        "metal": m.any("lead", "tin", "tungsten_putty"),
        "drills": ["6 mm", "1/4"],
    }
    return goal | {key: value for key, value in more.items() if m.often(0.2)}
