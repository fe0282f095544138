"""Copies of a proven bait: traced from readings, pictures or scans to an ordinary recipe; scaled; compared."""
