"""The lip: its plate, the marks on it, and the sheets it is cut from."""
