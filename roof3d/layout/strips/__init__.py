"""Strips along edges and round openings: metals, starters, hip and ridge pieces, linings."""

from roof3d.layout.strips.crickets import CRICKET_LINING, lines_valleys
from roof3d.layout.strips.lay import lay_strips

__all__ = ["CRICKET_LINING", "lay_strips", "lines_valleys"]
