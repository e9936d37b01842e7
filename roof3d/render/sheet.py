"""The paper: a drawing surface in pixels, y down, on which lines and letters are inked.

A thin layer over Matplotlib's Agg canvas, so that pictures are byte-equal on repetition
and need neither a screen nor the fonts of the machine (the ones Matplotlib ships are used).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Pixel: TypeAlias = tuple[float, float]
Ink: TypeAlias = "str | tuple[float, float, float]"

_DPI = 100.0
_FACES = {"regular": "DejaVuSans.ttf", "bold": "DejaVuSans-Bold.ttf"}


class Sheet:
    """A sheet of paper of a size in pixels.

    Parameters
    ----------
    size : tuple[int, int]
        Width and height, pixels.
    paper : colour
        Any colour that Matplotlib reads, or three floats 0 to 1.

    Notes
    -----
    All coordinates and widths are pixels from the top left corner, y down. ``order``
    stacks marks: higher lies above lower, equals in the order drawn.
    """

    def __init__(self, size: tuple[int, int], paper: Ink = "white") -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        width, height = size
        self.size = size
        self._figure = Figure(figsize=(width / _DPI, height / _DPI), dpi=_DPI, facecolor=paper)
        self._canvas: Any = FigureCanvasAgg(self._figure)
        self._axes: Any = self._figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self._axes.set_axis_off()
        self._axes.set_xlim(0.0, width)
        self._axes.set_ylim(height, 0.0)

    def image(self, colour: NDArray[np.uint8]) -> None:
        """Lay a raster of the sheet's own size (h, w, 3) pixel on pixel, below every mark."""
        self._figure.figimage(colour, zorder=-1.0)

    def lines(
        self,
        segments: Sequence[Sequence[Pixel]] | NDArray[np.float64],
        *,
        width: float,
        ink: Ink,
        dash: tuple[float, ...] = (),
        alpha: float = 1.0,
        order: float = 1.0,
        butt: bool = False,
    ) -> None:
        """Ink polylines of one width and colour; ``dash`` is on, off, ... in pixels."""
        if not len(segments):
            return
        from matplotlib.collections import LineCollection

        points = width * 72.0 / _DPI
        # Matplotlib counts dashes in line widths.
        style: Any = (0.0, tuple(step / width for step in dash)) if dash else "solid"
        marks = LineCollection(
            [np.asarray(segment, dtype=np.float64) for segment in segments],
            linewidths=points,
            colors=[ink],
            linestyles=[style],
            alpha=alpha,
            zorder=order,
            capstyle="butt" if dash or butt else "round",
            joinstyle="round",
        )
        self._axes.add_collection(marks, autolim=False)

    def polygon(
        self,
        points: Sequence[Pixel] | NDArray[np.float64],
        *,
        fill: Ink | None = None,
        ink: Ink | None = None,
        width: float = 1.0,
        alpha: float = 1.0,
        order: float = 1.0,
    ) -> None:
        """Fill and outline a polygon."""
        from matplotlib.patches import Polygon

        self._axes.add_patch(
            Polygon(
                np.asarray(points, dtype=np.float64),
                closed=True,
                facecolor="none" if fill is None else fill,
                edgecolor="none" if ink is None else ink,
                linewidth=width * 72.0 / _DPI,
                alpha=alpha,
                zorder=order,
                joinstyle="miter",
            )
        )

    def disc(
        self,
        centre: Pixel,
        radius: float,
        *,
        fill: Ink,
        ink: Ink | None = None,
        width: float = 1.0,
        order: float = 1.0,
    ) -> None:
        """Fill a circle."""
        from matplotlib.patches import Circle

        self._axes.add_patch(
            Circle(
                centre,
                radius,
                facecolor=fill,
                edgecolor="none" if ink is None else ink,
                linewidth=width * 72.0 / _DPI,
                zorder=order,
            )
        )

    def text(
        self,
        at: Pixel,
        words: str,
        *,
        size: float,
        ink: Ink = "black",
        bold: bool = False,
        across: str = "left",
        turn_deg: float = 0.0,
        halo: Ink | None = None,
        halo_width: float = 3.0,
        order: float = 5.0,
    ) -> None:
        """Write one line of text.

        Parameters
        ----------
        at : Pixel
            Left end, middle or right end (``across``) of the text, at the middle of the
            height of its figures.
        size : float
            Font size, pixels.
        across : str
            ``left``, ``center`` or ``right``.
        turn_deg : float
            Counterclockwise on the paper, about ``at``.
        halo : colour or None
            A rim of this colour under the letters.
        """
        from matplotlib.patheffects import withStroke

        text = self._axes.text(
            at[0],
            at[1],
            printable(words, bold=bold).replace("$", r"\$"),
            fontproperties=_font(bold),
            fontsize=size * 72.0 / _DPI,
            color=ink,
            ha=across,
            va="center_baseline" if turn_deg == 0.0 else "center",
            rotation=turn_deg,
            rotation_mode="anchor",
            zorder=order,
        )
        if halo is not None:
            text.set_path_effects(
                [withStroke(linewidth=2.0 * halo_width * 72.0 / _DPI, foreground=halo)]
            )

    def png(self) -> bytes:
        """Return the sheet as a PNG file; the same marks give the same bytes."""
        from PIL import Image

        self._canvas.draw()
        pixels = np.asarray(self._canvas.buffer_rgba())[..., :3]
        buffer = io.BytesIO()
        Image.fromarray(np.ascontiguousarray(pixels)).save(buffer, format="PNG")
        return buffer.getvalue()


@cache
def _font(bold: bool) -> Any:  # noqa: FBT001 - one of two faces
    import matplotlib as mpl
    from matplotlib.font_manager import FontProperties

    face = _FACES["bold" if bold else "regular"]
    return FontProperties(fname=str(Path(mpl.get_data_path()) / "fonts" / "ttf" / face))


@cache
def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """Return the width of one line of text, pixels, as ``Sheet.text`` writes it."""
    font = _ruler(bold)
    font.set_text(printable(words, bold=bold), 0.0)
    width, _ = font.get_width_height()
    return float(width) / 64.0 * size / 100.0


def printable(words: str, *, bold: bool = False) -> str:
    """Return words with a question mark for each letter that the face does not have."""
    letters = _letters(bold)
    return "".join(letter if ord(letter) in letters else "?" for letter in words)


def shortened(words: str, size: float, width: float, *, bold: bool = False) -> str:
    """Return one line that is no wider than ``width`` pixels: its end cut off where it must.

    Parameters
    ----------
    words : str
    size : float
        Font size, pixels.
    width : float
        Pixels; where not even the ellipsis fits, that alone is returned.
    bold : bool

    Examples
    --------
    >>> shortened("Harbour house", 20.0, 400.0), shortened("Harbour house", 20.0, 90.0)
    ('Harbour house', 'Harbo\u2026')
    """
    if text_width(words, size, bold=bold) <= width:
        return words
    fits = [
        trial
        for count in range(len(words))
        if text_width(trial := f"{words[:count].rstrip()}\u2026", size, bold=bold) <= width
    ]
    return fits[-1] if fits else "\u2026"


@cache
def _letters(bold: bool) -> frozenset[int]:  # noqa: FBT001 - one of two faces
    return frozenset(_ruler(bold).get_charmap())


@cache
def _ruler(bold: bool) -> Any:  # noqa: FBT001 - one of two faces
    """Return a face at 100 pixels: large, so that hinting does not round every letter."""
    import matplotlib as mpl
    from matplotlib.ft2font import FT2Font

    face = _FACES["bold" if bold else "regular"]
    font = FT2Font(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / face))
    font.set_size(100.0, 72.0)
    return font
