"""A little bait and a study of it, invented: what a design of it costs is some hundredths of a second."""

import re

SHAPE = """
format = 1
name = "Tarn leaf"
[shape]
length = 50
depth = 14
thickness = 10
belly = "leaf"
plan = "leaf"
"""
"""Its back is still to be said."""
BAIT = f"""{SHAPE}
back = {{ fractions = [[0, 0], [0.4, 1], [1, 0]] }}
[wood]
species = "balsa"
blank = {{ mass = "3 g", length = 60, width = 12, height = 16 }}
[weighed]
blank = "0.9 g"
[[bore]]
kind = "ballast"
from = "belly"
x = 20
diameter = 3
depth = 3
fill.metal = "lead"
"""
STUDY = """
format = 1
name = "Leaves"
recipe = "leaf.toml"
seed = 5
keep = ["float.reserve_g", "stages[drilled].mass_g", "body.centroid_mm[1]"]
[plan]
how = "monte_carlo"
designs = 6
[[vary]]
key = "shape.thickness"
from = "9 mm"
to = "1.2 cm"
[[vary]]
key = "bore[1].lean"
mean = "0 deg"
deviation = "2 deg"
[[vary]]
key = "wood.species"
values = ["balsa", "basswood"]
[[vary]]
key = "shape.back.fractions[2][1]"
from = 0.35
to = 0.45
"""
PLAN = re.search(r"\[plan\]\n(?:\w.*\n)+", STUDY)[0]
RANGES = STUDY.replace('mean = "0 deg"\ndeviation = "2 deg"', 'from = "-2 deg"\nto = "2 deg"')
"""The study without what chance alone can choose."""
SEARCH = '[search]\ndesigns = 60\n[[aim]]\nfigure = "float.reserve_g"\ntarget = 2.0\nwithin = 0.1\n'
"""In place of its plan."""
