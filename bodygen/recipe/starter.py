"""A first recipe to change: every table there is, each key with a word about it, from the keys where that reads well.

Knows what a usual bait's proportions are (common practice, no published source). The maker's own figures replace them.
"""

from bodygen import units
from bodygen.recipe.about import every_key, names_of

USUAL_LENGTH = 70.0  # mm

# Shares of the length: a round diver with the lip in its belly. Common practice, no published source.
SHARES = {
    "length": 1.0,
    "depth": 0.32,
    "thickness": 0.24,
    "ballast_x": 0.42,
    "ballast_depth": 0.11,
    "hanger_x": 0.60,
    "hanger_depth": 0.09,
    "end_depth": 0.18,
    "eye_x": 0.15,
    "eye_height": 0.03,
    "lip_x": 0.12,
    "slot_depth": 0.07,
    "lip_length": 0.20,
    "lip_width": 0.22,
}

SCREW_EYES = {"mm": "1 x 12 mm", "in": "0.041 x 1/2 in"}
PILOTS = {"mm": "0.7 mm", "in": "#69"}
"""What the line and the hooks hang from, and the drill that its thread bites after (``pilots`` of it, in soft wood)."""
SHANK = 12.0
"""Of either [mm]: a hole for it need not be deeper."""
EYE_DEPTH, LIP_THICKNESS = "0.75 mm", "1.5 mm"
"""How deep eyes are set, and what sheet a lip is of. Common practice, no published source."""

COATS = """\
[[coat]]
finish = "lacquer_sealer_thinned"
coats = 2

[[coat]]
finish = "primer_white"

[[coat]]
finish = "acrylic_pattern_whole"

[[coat]]
finish = "two_part_epoxy"
"""
"""The coats of a usual bait, as a recipe says them. Common practice, no published source."""

_TEMPLATE = """\
# {name}: a parameter file of bodygen. Change anything; `bodygen check` says what does not hold.
# A text may carry its unit ("2-3/4 in", "9.5 mm", "14 g", "45 deg", "52 degF"); a bare number is in the units below.
# x runs from the nose (0) to the tail, y to the bait's right, z up; the x axis is the parting line drawn on the plank.
# The proportions here are common practice, with no published source.

format = 1
name = "{name}"
units = "{units}"

# The body. Instead of these keys: stations = "a.csv" (sections measured on a bait) or mesh = "a.stl" (taken as it is).
[shape]
length = {length}
depth = {depth}                   # {about[shape.depth]}
thickness = {thickness}           # {about[shape.thickness]}
# Lines: acorn, leaf, reed, pebble, shuttle, gable; or your own as {{ points = [[x, height], ...] }} in lengths or
# {{ fractions = [[x, height], ...] }} from 0 to 1. A third element "corner" lets the line turn sharply there.
back = "acorn"
belly = "acorn"
plan = "leaf"                     # {about[shape.plan]}
back_share = 0.5                  # {about[shape.back_share]}
squareness = 2.2                  # {about[shape.squareness]}
# squareness = {{ back = 2.0, belly = 2.6 }}   # above and below the widest line, each its own
tail = {{ size = 0.15 }}           # the share that is left as a flat, sawn-off end: a face for the tail hanger's drill
# nose = {{ bluntness = 1.0 }}      # {about[shape.nose.bluntness]}
# flat_side = {{ height = 8, edge_radius = 4 }}

# Density is what counts: weigh the squared blank if you can.
[wood]
species = "{wood}"
moisture_percent = 10
# density_g_cm3 = 0.41            # {about[wood.density_g_cm3]}
# blank = {{ mass = "30 g", length = 90, width = 25, height = 30 }}

# {about[bore]} kind: {choices[bore.kind]}.
# from: {choices[bore.from]}.
# Size by diameter, or by a drill's name: "1/4", "#30", "6 mm". Depth is to the shoulder unless depth_to = "point".
[[bore]]
name = "ballast"
kind = "ballast"
from = "belly"
x = {ballast_x}
drill = "{ballast_drill}"
depth = {ballast_depth}

[bore.fill]                       # what goes in; leave it out and ask `bodygen ballast`
metal = "bismuth_tin_58_42"       # lead-free
placed = "slug"                   # {choices[bore.fill.placed]}
level = 1.0                       # {about[bore.fill.level]}

[[bore]]
name = "belly hanger"
kind = "hanger"
from = "belly"
x = {hanger_x}
drill = "{pilot}"
depth = {hanger_depth}

[[bore]]
name = "tail hanger"
kind = "hanger"
from = "tail"
drill = "{pilot}"
depth = {end_depth}

[[bore]]
name = "line tie"
kind = "tie"
from = "nose"
drill = "{pilot}"
depth = {end_depth}

[[bore]]                          # an eye's socket: from the side, on both flanks
name = "eye"
kind = "eye"
x = {eye_x}
height = {eye_height}
diameter = "5 mm"
depth = "{eye_depth}"
tip = "flat"

# A kerf for a through-wire, sawn from belly or back:
# [[wire_slot]]
# along = "belly"
# start = 0
# end = {length}
# width = "1.2 mm"
# floor = 0                       # down to the parting line; or depth = ... below the skin

# {about[lip]} Measure the sheet: its label is not its thickness.
[lip]
sheet = "polycarbonate"
thickness = "{lip_thickness}"              # or nominal = "1/16 in", and the table knows how thick that is
angle = "40 deg"                  # {about[lip.angle]}
x = {lip_x}                       # where the slot meets the belly; or from = "nose" and height
slot_depth = {slot_depth}         # {about[lip.slot_depth]}
length = {lip_length}             # {about[lip.length]}
width = {lip_width}
outline = "shovel"                # {choices[lip.outline]} ([[distance, half width], ...])

[lip.cutting]
process = "hand"                  # {choices[lip.cutting.process]}
quantity = 1
# sheet_size = ["300 mm", "200 mm"]
# offcut = [[0, 0], [120, 0], [90, 60], [0, 60]]   # corners of a left-over piece, instead of sheet_size
# tabs = 2                        # laser or router: places marked where each lip may stay joined to the sheet
# A plate bent across, so far from the slot's mouth: bend = {{ distance = ..., angle = "8 deg" }} under [lip]

# {about[fitting]}
# Kinds hook, ring, eye, screw_eye and wire know their sizes; any other weight says its own mass.
[[fitting]]
name = "belly screw eye"
kind = "screw_eye"
size = "{screw_eye}"
on = "belly hanger"               # moves with the bore; or at = [x, y, z]
stage = "hangers"                 # {about[fitting.stage]}

[[fitting]]
name = "tail screw eye"
kind = "screw_eye"
size = "{screw_eye}"
on = "tail hanger"
stage = "hangers"

[[fitting]]
name = "nose screw eye"
kind = "screw_eye"
size = "{screw_eye}"
on = "line tie"
stage = "hangers"

[[fitting]]
name = "belly treble"
kind = "hook"
size = "#8"
on = "belly hanger"

[[fitting]]
name = "tail treble"
kind = "hook"
size = "#8"
on = "tail hanger"

[[fitting]]
name = "belly ring"
kind = "ring"
size = "#3"
on = "belly hanger"

[[fitting]]
name = "tail ring"
kind = "ring"
size = "#3"
on = "tail hanger"

# In place of a screw eye a bent wire, in a bore as wide as two wires and the glue; its forms are
# {choices[fitting.bent.form]}.
# [[fitting]]
# name = "belly wire"
# kind = "wire"
# size = "0.8 mm"
# on = "belly hanger"
# stage = "hangers"
# [fitting.bent]
# form = "belly_hanger"
# loop = "3.5 mm"                 # {about[fitting.bent.loop]}

# {about[coat]}
# Write gain = "1.1 g" in place of coats when you have weighed before and after.
{coats}
# {about[mask]}
# Kinds: {choices[mask.kind]}.
[[mask]]
kind = "back"

# {about[paint]} Colours are CSS names, or #rrggbb.
# [[paint]]
# colour = "olivedrab"
# mask = "back"                   # {about[paint.mask]}
# region = "back"                 # {choices[paint.region]}: in place of a mask

# {about[finish]}
# [finish]
# start = "2031-03-04"            # {about[finish.start]}
# temperature = {temperature}
# humidity = 50
# days = ["Tue", "Thu"]           # with opens = "18:30" and hours = 3

# {about[water]} Line and retrieve are what `bodygen dive` tells a depth for.
[water]
temperature = {temperature}
salinity = 0                      # {about[water.salinity]}

[line]
diameter = "0.3 mm"
length_m = 25

[retrieve]
speed_m_s = 1.0
tip_height_m = 0.5

# Least wood left, where you want another figure than the usual one:
# [limits]
# bore_to_skin = "1/8 in"

# {about[shop]}
# [shop]
# printer_bed = ["220 mm", "220 mm", "250 mm"]
# fit = "slide"                   # {about[shop.fit]}: {choices[shop.fit]}
# shrink_percent = 0.5            # {about[shop.shrink_percent]}
# stock_thickness = "12 mm"       # {about[shop.stock_thickness]}
# profile_cutter = "flat 1/16 in" # round templates; roughing = "flat 1/8 in" and finishing = "ball 1/8 in" carve
# spindle_speeds = [10000, 16000] # that your router has; fastest_feed, fastest_plunge and clamp_height bound it, too
# bush = "12 mm"                  # outside of the guide bush that runs along the router template, with cutter = "6 mm"

# How it should lie, for `bodygen ballast` to find the metal:
# [goal]
# reserve = "2 g"                 # to float with; or suspends_at, sinks_at, rises_at
# pitch = "5 deg"                 # {about[goal.pitch]}

# What the scale said at each step, to set beside what was expected:
# [weighed]
# drilled = "6.8 g"
"""


def starter_text(name: str, ruler: str = "mm", length: float = USUAL_LENGTH, wood: str = "basswood") -> str:
    """Write a starter recipe.

    Parameters
    ----------
    name : str
        The bait's name, without quotes or backslashes.
    ruler : str
        ``"mm"`` or ``"in"``: what the recipe is written in.
    length : float
        Of the body [mm]; everything else is in proportion.
    wood : str
        Species key of ``woods.toml``.

    Returns
    -------
    str
        TOML that ``read_recipe`` takes without a mistake for lengths from 40 to 200 mm.
    """
    text = _TEMPLATE.format(
        name=name.replace("\\", "/").replace('"', "'"),
        units=ruler,
        wood=wood,
        coats=COATS,
        ballast_drill="6 mm" if ruler == "mm" else "1/4",
        eye_depth=EYE_DEPTH,
        lip_thickness=LIP_THICKNESS,
        pilot=PILOTS[ruler],
        screw_eye=SCREW_EYES[ruler],
        about={path: key.about for path, key in every_key()},
        choices={path: ", ".join(key.choices or names_of(key)) for path, key in every_key()},
        temperature='"15 degC"' if ruler == "mm" else '"59 degF"',
        **{key: size_text(size, ruler) for key, size in usual_sizes(length).items()},
    )
    return "\n".join(_aligned(line) for line in text.split("\n"))


def usual_sizes(length: float) -> dict[str, float]:
    """Sizes of a usual bait of some length, by the names of ``SHARES`` [mm]; a hole is no deeper than its eye is long.

    >>> usual_sizes(100.0)["hanger_depth"], usual_sizes(100.0)["end_depth"]
    (9.0, 12.0)
    """
    sizes = {key: share * length for key, share in SHARES.items()}
    return sizes | {key: min(sizes[key], SHANK) for key in ("hanger_depth", "end_depth")}


def size_text(millimetres: float, ruler: str) -> str:
    """Write a length as the ruler shows it: half millimetres, or 1/64 in."""
    if ruler == "mm":
        return f"{round(millimetres * 2) / 2:g}"
    return f'"{units.inch_fraction(millimetres / float(units.INCH))} in"'


def _aligned(line: str) -> str:
    """Put the comment behind a value at one column, whatever the value's width."""
    value, mark, comment = line.partition("  #")
    if not mark or line.startswith("#"):
        return line
    return f"{value.rstrip():<34}#{comment}"
