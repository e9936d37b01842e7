"""A plane in its own two dimensions: its frame, its sides, how far each layer runs past them."""
