"""Where things stand on the sheet of a roof picture."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.render.lettering import Box, font_sizes
from roof3d.render.roof_ink.key import caution_rows
from roof3d.scene.model import Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where things stand on the sheet, pixels.

    Attributes
    ----------
    size : tuple[int, int]
    sizes : title, heading, name, note
        Font sizes.
    margin : float
    top, bottom : float
        Of the drawing.
    key_top, key_bottom : float
        Of the strip with the key.
    cautions : rows of lines
    """

    size: tuple[int, int]
    sizes: tuple[float, float, float, float]
    margin: float
    top: float
    bottom: float
    key_top: float
    key_bottom: float
    cautions: tuple[tuple[str, ...], ...]

    @property
    def title_box(self) -> Box:
        """What labels keep clear of above the drawing."""
        width, bottom = self.size[0], self.top * 0.8
        return Box(centre=(width / 2, bottom / 2), width=width, height=bottom)

    @property
    def key_box(self) -> Box:
        """What labels keep clear of below the drawing."""
        width, height = self.size
        middle = (self.key_top + height) / 2
        return Box(centre=(width / 2, middle), width=width, height=height - self.key_top)

    @property
    def edge_key_left(self) -> float:
        """Where the middle part of the key begins."""
        return self.margin + (self.size[0] - 2.0 * self.margin) * 0.235

    @property
    def ground_left(self) -> float:
        """Where the right part of the key, north and scale, begins."""
        return self.margin + (self.size[0] - 2.0 * self.margin) * 0.705


def lay_out(scene: Scene, size: tuple[int, int]) -> Layout:
    """Divide a sheet of a size in pixels between title, drawing, key and cautions."""
    # On a sheet taller than usual the width, not the height, is what letters must fit.
    sizes = font_sizes(min(size[1], round(0.75 * size[0])))
    title, _, name, note = sizes
    margin = 2.4 * note
    rows = caution_rows(scene.cautions, size[0] - 2.0 * margin, 0.86 * note)
    key_bottom = size[1] - 0.9 * margin - len(rows) * 0.86 * note * 1.5
    key_top = key_bottom - 13.2 * note
    top = margin + 1.25 * title + 1.6 * note
    return Layout(
        size=size,
        sizes=sizes,
        margin=margin,
        top=top + 2.0 * name,
        bottom=key_top - 2.6 * note,
        key_top=key_top,
        key_bottom=key_bottom,
        cautions=rows,
    )
