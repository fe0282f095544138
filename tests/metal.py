"""What the metal of a bore weighs by the local model of a search."""

from bodygen.weights.cavities import metal_density, slug_share
from bodygen.weights.item import MM3_PER_CM3


def metal_mass(holes, fill, depth):
    """Metal alone [g]."""
    if fill.mass is not None:
        return fill.mass * len(holes)
    volume = sum(hole.metal(depth, fill)[0] * slug_share(hole.bore, fill) for hole in holes)
    return volume * metal_density(fill) / MM3_PER_CM3
