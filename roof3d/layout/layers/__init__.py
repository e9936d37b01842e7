"""Lay the layers of one plane, bottom up: what each covers, its courses, pieces and nails."""

from roof3d.layout.layers.lay import lay_layers
from roof3d.layout.layers.task import Ground

__all__ = ["Ground", "lay_layers"]
