"""How deep it runs: a steady estimate in the mid-plane, printed as a range."""
