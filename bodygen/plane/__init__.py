"""Flat geometry: lines and arcs, loops, what runs parallel to them, how they lie on sheets. Nothing of wood in it."""
