"""What else than the body a flat picture shows: round marks on it, wire and plates beside it. Knows pixels."""
