"""Which piece lies on which along the way of the water: from geometry alone."""
