"""Shapes of what is laid: heights of pieces on one another, and the solids they make."""
