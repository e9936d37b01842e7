"""Every nail as a point: of shingles, of sheets, of strips along edges."""

from roof3d.layout.nails.sheets import nail_sheets
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.nails.strips import nail_strip

__all__ = ["nail_sheets", "nail_shingles", "nail_strip"]
