"""Wood that is left, by taking a solid apart."""

from bodygen.mesh.split import CRUMB_MM3


def separate_parts(solid):
    """How many pieces of wood there are; crumbs are rounding, not wood."""
    return sum(part.volume() > CRUMB_MM3 for part in solid.decompose())
