"""What in a flat picture is the bait, where its edge lies to a fraction of a pixel, and that edge as lines in mm."""
