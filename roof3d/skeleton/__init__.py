"""Weighted straight skeleton: roof faces over any outline. Knows polygons and speeds, not roofs."""

from roof3d.skeleton.faces import faces

__all__ = ["faces"]
