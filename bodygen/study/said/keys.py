"""Every key that a study's file may hold, as ``recipe/keys`` has those of a recipe."""

from bodygen.recipe.keys import FORMAT, Key
from bodygen.recipe.keys.key import choice, table, tables_of, text
from bodygen.study.said.batch import BATCH, BOARD_BESIDES
from bodygen.study.said.wished import WISHED

VARY = {
    "key": text("the key of the recipe, as `bodygen explain` has them", "shape.thickness", required=True),
    "from": Key("other", about="the least of a range", example="13 mm"),
    "to": Key("other", about="the most of a range", example="17 mm"),
    "steps": Key("whole", "study_steps", "so many values of a range, for a grid, both ends among them", 5),
    "values": Key("other", about="a list instead of a range", example=["35 deg", "40 deg"]),
    "mean": Key("other", about="the middle of a normal distribution instead", example="0.42 g/cm3"),
    "deviation": Key("other", about="its standard deviation; it is cut off at three of them", example="0.03 g/cm3"),
}
BOARD = {
    "name": text("what is written on it", "B1", required=True),
    "size": Key("lengths", "board_side_mm", "length along the grain, width, thickness", required=True, count=3),
    "mass": Key("mass", "board_mass_g", "on the scale", "1010 g", required=True),
    **BOARD_BESIDES,
}
PLAN = {
    "how": choice("how the designs are spread", "latin_hypercube", "grid", "sobol", "monte_carlo", required=True),
    "designs": Key("whole", "study_designs", "how many; of a grid it follows from its steps and lists", 1000),
    "sensitivities": Key("flag", about="of sobol: so many twice, and once more for each thing varied", example=True),
}
STUDY = {
    "format": Key("whole", about="the form of this file: always 1", example=FORMAT, required=True),
    "name": text("of the study", "Which board", left_out="the file's name"),
    "recipe": text("the bait: a file here, or in the folder above", "../tarn-perch-70.toml", required=True),
    "seed": Key("whole", "study_seed", "where chance begins: the same seed, the same designs", 7, left_out="1"),
    "keep": Key("names", about="figures of properties.json, by their path", example=["float.reserve_g"]),
    "plan": table("Which designs are worked out.", PLAN),
    **WISHED,
    "batch": table("A run of pieces from the boards, instead of a plan.", BATCH),
    "vary": tables_of("One table for each key that is varied.", VARY),
    "board": tables_of("Weighed boards: each design is made of one, and has its density.", BOARD),
}
