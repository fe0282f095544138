"""A recipe after reading: frozen data, lengths in mm, masses in g, angles in rad, temperatures in degC.

Knows no TOML and no units as text (``read.py`` does). Every optional table is None or empty when it was left out, so
that later rooms can tell "not said" from "said to be zero". Key paths in findings use the recipe's own names.
"""

from bodygen.recipe.model.bench import Fit, Goal, Limits, LineOut, Retrieve, Shop, Water, Waterline
from bodygen.recipe.model.body import Curve, End, FlatSide, MeshFile, Parameters, Point3, Stations, Wood
from bodygen.recipe.model.cuts import Bore, BoreKind, Closed, Counterbore, Entry, Fill, Tip, WireSlot
from bodygen.recipe.model.finish import Finish, Paint
from bodygen.recipe.model.lip import Bend, Cutting, Lip, Mouth, TieHole
from bodygen.recipe.model.recipe import Recipe, Source, Units, read_from
from bodygen.recipe.model.worn import Bent, Coat, Fitting, Mask, MaskKind, TrialBend

__all__ = [
    "Bend",
    "Bent",
    "Bore",
    "BoreKind",
    "Closed",
    "Coat",
    "Counterbore",
    "Curve",
    "Cutting",
    "End",
    "Entry",
    "Fill",
    "Finish",
    "Fit",
    "Fitting",
    "FlatSide",
    "Goal",
    "Limits",
    "LineOut",
    "Lip",
    "Mask",
    "MaskKind",
    "MeshFile",
    "Mouth",
    "Paint",
    "Parameters",
    "Point3",
    "Recipe",
    "Retrieve",
    "Shop",
    "Source",
    "Stations",
    "TieHole",
    "Tip",
    "TrialBend",
    "Units",
    "Water",
    "Waterline",
    "WireSlot",
    "Wood",
    "read_from",
]
