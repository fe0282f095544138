"""Studies: many designs of one recipe, each a row of a table; `door` is what a program calls."""
