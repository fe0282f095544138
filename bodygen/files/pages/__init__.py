"""Pages to read and to hang up: the card for the bench, the calendar."""
