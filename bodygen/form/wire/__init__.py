"""A bent wire as lines and arcs in one plane: how long it is cut, where it runs; the forms that hold hooks and line."""
