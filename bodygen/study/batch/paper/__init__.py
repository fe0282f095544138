"""A run of pieces on paper: the sheet for the bench, labels to cut out, planks with their cuts."""
