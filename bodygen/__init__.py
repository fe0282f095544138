"""Wooden diving baits from a parameter file: the solid, its weight, its jigs, its lip."""
