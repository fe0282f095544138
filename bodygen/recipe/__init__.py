"""What the maker writes: a parameter file in, one frozen and checked Recipe out."""
