"""Hips and ridges: their pieces over the courses of both planes, and the vent below them."""
