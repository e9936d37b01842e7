"""Strips along edges and round openings: metals, starters, hip and ridge pieces, linings."""

from roof3d.layout.strips.lay import lay_strips

__all__ = ["lay_strips"]
