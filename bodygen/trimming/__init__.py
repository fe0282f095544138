"""A floated bait through the whole flow: what it tells, and what to do."""
