"""From calliper readings to a fair surface: the table as a maker types it, its lines, its slips."""
