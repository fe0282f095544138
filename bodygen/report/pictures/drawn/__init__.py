"""The bait as it is drawn through the water, and what acts on it there."""
