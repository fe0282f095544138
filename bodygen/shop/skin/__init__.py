"""The body's skin as jigs need it: its lines in a plane, a flank as a grid, laid flat, rolled out, moved outwards."""
