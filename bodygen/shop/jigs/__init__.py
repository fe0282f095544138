"""What is printed to hold, to guide and to cast: drill block, cradles, mould, master, key pins."""
