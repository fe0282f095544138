"""Trebles on their rings: what they sweep, and what is in their way."""
