"""A parameter file as text: where everything stands, every mistake found so far, and the files that it names."""
