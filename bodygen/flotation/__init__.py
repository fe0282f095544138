"""Flotation: how a closed body of given mass lies in the water. Triangles and point volumes; no recipe, no bores."""
