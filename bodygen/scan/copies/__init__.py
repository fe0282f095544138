"""Copies among each other: one bait in other sizes, and several that were meant to be alike."""
