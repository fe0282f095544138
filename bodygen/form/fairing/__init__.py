"""From what is written or measured of a body to its surface: rows of stations, fair lines through them."""
