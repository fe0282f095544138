"""The door to the copies: what a program calls, by files and plain values."""
