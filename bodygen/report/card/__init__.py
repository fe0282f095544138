"""The card for the bench: words and their places on paper, as plain data. Everything on it is computed elsewhere."""
