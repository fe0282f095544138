"""Which design has the wished figures: tried in batches, by SciPy, from ranges and lists; knows no bait."""
