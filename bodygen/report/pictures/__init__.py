"""Pages with pictures: the drawing, the bait afloat, its weights, its righting curves, a router's program."""
