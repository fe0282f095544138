"""How sure the figures are: what may come out otherwise, and how far mass, reserve and pitch then spread."""
