"""Layers and strips of a layout as pieces of a pile, plane by plane, neighbours unfolded."""
