"""The shape itself: Recipe -> Body, one surface defined by its poles, and the cuts that are made into it."""
