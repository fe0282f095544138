"""The bench log: what real builds weighed and how they floated, and what the next one learns from it."""
