"""Random recipes for any room's tests: plausible baits whose bores keep inside the wood, and the same with one mistake.

Use with hypothesis as ``@given(st.integers(0, 10**6))`` and ``random_recipe_text(seeded(seed))``: the seed is the
example, so a failure names it.
"""

import random
import re

OUTLINES = ("acorn", "leaf", "reed", "pebble", "shuttle", "gable")
BLUNT_NOSED = ("acorn", "reed", "pebble")
WOODS = ("basswood", "paulownia", "balsa", "jelutong", "western redcedar")
INCH = 25.4


def seeded(seed: int) -> random.Random:
    """Start a generator for one example."""
    return random.Random(seed)  # noqa: S311 - baits, not secrets


def random_recipe_text(rng: random.Random) -> str:
    """Write a recipe in mm or inches: families, points, corners, flat sides; bores, kerfs, a lip or none."""
    ruler = rng.choice(["mm", "in"])
    length = rng.uniform(45, 140)
    depth = length * rng.uniform(0.2, 0.34)
    thickness = depth * rng.uniform(0.5, 0.9)

    def size(millimetres: float) -> str:
        """A length as a maker in this unit may write it: bare, with its unit, or in the other unit."""
        way = rng.randrange(3)
        if ruler == "mm":
            return (f"{millimetres:.2f}", f'"{millimetres:.2f} mm"', f'"{millimetres / INCH:.4f} in"')[way]
        return (f"{millimetres / INCH:.4f}", f'"{millimetres / INCH:.4f} in"', f'"{millimetres:.3f} mm"')[way]

    lines = ["format = 1", f'name = "Random bait {rng.randrange(1000)}"', f'units = "{ruler}"', "", "[shape]"]
    nose = rng.choice(BLUNT_NOSED)
    lines += [f"length = {size(length)}", f"depth = {size(depth)}", f"thickness = {size(thickness)}"]
    lines += [f"back = {_line(rng, nose)}", f"belly = {_line(rng, nose)}", f"plan = {_line(rng, rng.choice(OUTLINES))}"]
    lines.append(
        f"squareness = {rng.choice(['2.0', '2.4', '{ back = 2.0, belly = 2.8 }', '[[0, 2], [0.5, 2.6], [1, 2]]'])}"
    )
    if rng.random() < 0.5:
        lines.append(f"back_share = {rng.uniform(0.42, 0.58):.3f}")
    if rng.random() < 0.3:
        lines.append(f"nose = {{ bluntness = {rng.uniform(0.8, 1.2):.2f} }}")
    if rng.random() < 0.3:
        lines.append(f"flat_side = {{ height = {size(depth * 0.3)}, edge_radius = {size(depth * 0.25)} }}")
    lines += ["", "[wood]", f'species = "{rng.choice(WOODS)}"', f"moisture_percent = {rng.randint(6, 14)}"]
    if rng.random() < 0.3:
        lines.append(f"density_g_cm3 = {rng.uniform(0.15, 0.6):.3f}")
    lines += _bores(rng, size, length, depth, thickness)
    if rng.random() < 0.4:
        lines += [
            "",
            "[[wire_slot]]",
            'along = "back"',
            f"start = {size(length * 0.35)}",
            f"end = {size(length * 0.75)}",
        ]
        lines += [f"width = {size(1.1)}", f"depth = {size(depth * 0.1)}"]
    if rng.random() < 0.7:
        lines += _lip(rng, size, length, thickness)
    lines += _items(rng, size, length, depth)
    return "\n".join(lines) + "\n"


def _line(rng: random.Random, family: str) -> str:
    """A family, or points of a line that is full in front: now and then with a corner."""
    if rng.random() < 0.6:
        return f'"{family}"'
    greatest = rng.uniform(0.32, 0.48)
    rows = [(0.0, 0.0)]
    for x in (0.04, 0.12, 0.22, greatest, 0.6, 0.78, 0.92):
        u = (greatest - x) / greatest if x < greatest else (x - greatest) / (1 - greatest)
        rows.append((x, (1 - u**2) ** (0.5 if x < greatest else 0.8)))
    rows.append((1.0, 0.0))
    corner = rng.choice([None, None, 6])
    text = [
        f"[{x:.4f}, {v:.4f}{', ' + chr(34) + 'corner' + chr(34) if i == corner else ''}]"
        for i, (x, v) in enumerate(rows)
    ]
    return "{ fractions = [" + ", ".join(text) + "] }"


def _bores(rng: random.Random, size, length: float, depth: float, thickness: float) -> list[str]:
    lines = []
    for number, share in enumerate((0.38, 0.5)[: rng.randrange(3)], start=1):
        lines += [
            "",
            "[[bore]]",
            f'name = "ballast {number}"',
            'kind = "ballast"',
            'from = "belly"',
            f"x = {size(length * share)}",
        ]
        lines += [f"diameter = {size(min(thickness * 0.3, length * 0.07))}", f"depth = {size(depth * 0.22)}"]
        lines += [
            f'tip = "{rng.choice(["twist", "flat", "ball"])}"',
            f'depth_to = "{rng.choice(["shoulder", "point"])}"',
        ]
        if rng.random() < 0.7:
            metal = rng.choice(["lead_cast_slug", "bismuth_tin_58_42", "tungsten_putty"])
            lines += ["", "[bore.fill]", f'metal = "{metal}"', f"level = {rng.uniform(0.6, 1.0):.2f}"]
    if rng.random() < 0.7:
        lines += ["", "[[bore]]", 'kind = "hanger"', 'from = "belly"', f"x = {size(length * 0.62)}", 'drill = "#56"']
        lines += [f"depth = {size(depth * 0.25)}"]
    if rng.random() < 0.5:
        lines += ["", "[[bore]]", 'kind = "tie"', 'from = "nose"', 'drill = "1.2 mm"', f"depth = {size(length * 0.09)}"]
    if rng.random() < 0.6:
        lines += ["", "[[bore]]", 'kind = "eye"', f"x = {size(length * 0.25)}", f"height = {size(depth * 0.06)}"]
        lines += [f"diameter = {size(depth * 0.16)}", f"depth = {size(thickness * 0.06 + 0.31)}", 'tip = "flat"']
    if rng.random() < 0.3:
        lines += [
            "",
            "[[bore]]",
            'kind = "through"',
            'from = "side"',
            f"x = {size(length * 0.7)}",
            "diameter = '1.5 mm'",
        ]
    return lines


def _lip(rng: random.Random, size, length: float, thickness: float) -> list[str]:
    lines = ["", "[lip]", f'sheet = "{rng.choice(["polycarbonate", "glass_epoxy", "petg"])}"', "thickness = '1.5 mm'"]
    lines += [
        f'angle = "{rng.randint(30, 60)} deg"',
        f"x = {size(length * 0.14)}",
        f"slot_depth = {size(length * 0.05)}",
    ]
    lines += [f"length = {size(length * 0.2)}", f"width = {size(thickness * 0.9)}"]
    return [*lines, f'outline = "{rng.choice(["shovel", "spade", "coin", "wedge"])}"']


def _items(rng: random.Random, size, length: float, depth: float) -> list[str]:
    lines = ["", "[[fitting]]", 'kind = "hook"', f'size = "{rng.choice(["#8", "#6", "#4"])}"']
    lines += [f"at = [{size(length * 0.62)}, 0, {size(-depth * 0.55)}]"]
    if rng.random() < 0.5:
        lines += ["", "[[fitting]]", 'name = "trim"', 'mass = "0.4 g"', f"at = [{size(length * 0.4)}, 0, 0]"]
    if rng.random() < 0.7:
        lines += ["", "[[coat]]", 'finish = "two_part_epoxy"', f"coats = {rng.randint(1, 3)}"]
    if rng.random() < 0.5:
        lines += ["", "[water]", f'temperature = "{rng.randint(4, 25)} degC"', f"salinity = {rng.choice([0, 10, 35])}"]
    return lines


# --- one mistake each ---

NOTHING_TAKES = "1979-05-27"  # a date is a value of TOML that no key of a recipe takes
LENGTHS = {"length", "depth", "thickness", "x", "diameter", "start", "end", "width", "slot_depth"}
POSITIVE = LENGTHS - {"x", "start"} | {"moisture_percent", "density_g_cm3", "coats", "salinity"}
NEEDED = {
    "shape.length",
    "bore.x",
    "bore.diameter",
    "bore.drill",
    "wire_slot.along",
    "wire_slot.start",
    "wire_slot.end",
}
NEEDED |= {"wire_slot.width", "lip.angle", "lip.sheet", "lip.slot_depth", "lip.x", "lip.length", "fitting.at", "format"}


def broken_recipe_text(rng: random.Random) -> tuple[str, str]:
    """Write a recipe with one mistake, and the key path that a complaint about it must name."""
    while True:
        lines = random_recipe_text(rng).split("\n")
        written = _keys(lines)
        way = rng.choice(["unknown", "type", "nan", "negative", "unit", "missing"])
        fitting = [
            (number, path, key)
            for number, path, key in written
            if way in {"unknown", "type"}
            or (way in {"nan", "unit"} and key in LENGTHS)
            or (way == "negative" and key in POSITIVE)
            or (way == "missing" and re.sub(r"\[\d+\]", "", path) in NEEDED)
        ]
        if fitting:
            break
    number, path, key = rng.choice(fitting)
    value = {
        "unknown": lines[number].split(" = ", 1)[1],
        "type": NOTHING_TAKES,
        "nan": rng.choice(["nan", "inf", "-inf", '"nan mm"']),
        "negative": "-3",
        "unit": rng.choice(['"3 g"', '"4 deg"', '"5 parsnips"', '"6 degC"']),
        "missing": "",
    }[way]
    if way == "missing":
        lines[number] = ""
        if key == "drill":
            path = path.removesuffix("drill") + "diameter"
    elif way == "unknown":
        lines[number] = f"{key}_q = {value}"
        path += "_q"
    else:
        lines[number] = f"{key} = {value}"
    return "\n".join(lines), path


def _keys(lines: list[str]) -> list[tuple[int, str, str]]:
    """Line index, key path and last key of every ``key = value`` line."""
    found, table, counts = [], "", {}
    for number, line in enumerate(lines):
        if line.startswith("[["):
            name = line.strip("[]")
            counts[name] = counts.get(name, 0) + 1
            table = f"{name}[{counts[name]}]."
        elif line.startswith("["):
            *outer, name = line.strip("[]").split(".")
            table = f"{outer[0]}[{counts[outer[0]]}].{name}." if outer else f"{name}."
        elif " = " in line:
            key = line.split(" = ", 1)[0]
            found.append((number, table + key, key))
    return found
