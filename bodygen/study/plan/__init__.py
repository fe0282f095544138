"""From what is varied to designs."""
