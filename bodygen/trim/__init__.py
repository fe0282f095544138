"""From what was seen in the tub to what to do: what a floated bait tells of itself, and small changes that mend it."""
