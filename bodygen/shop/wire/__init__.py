"""Bent wire at the bench: how it springs back, its template, its bending block, and how much a hanger holds."""
