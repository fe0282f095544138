"""What it weighs at every step: parts as items with a stage, summed to mass, centre and inertia."""
