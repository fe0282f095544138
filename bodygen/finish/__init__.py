"""Coats by the day: how each dries, what may lie under what, what film a dip leaves, and a calendar of it all."""
