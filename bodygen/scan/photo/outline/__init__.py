"""What in a flat picture is the bait, and where its edge lies to a fraction of a pixel. Knows pixels alone."""
