"""How an answer reaches a screen or a pipe, and what a shell offers at Tab."""
