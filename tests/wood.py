"""Wood that is left, by taking a solid apart."""

from bodygen.mesh.pieces import LEAST_MM3


def separate_parts(solid):
    """How many pieces of wood there are; crumbs are rounding, not wood."""
    return sum(part.volume() > LEAST_MM3 for part in solid.decompose())
