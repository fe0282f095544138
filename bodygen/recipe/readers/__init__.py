"""One reader for each table of a recipe: which keys go together, and what becomes of them."""
