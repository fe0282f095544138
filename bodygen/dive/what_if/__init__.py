"""What a change of the bait does to its depth, and which change gives the depth that is wanted."""
