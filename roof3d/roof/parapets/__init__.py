"""Low walls on the free edges of a roof, and the holes through them."""
