"""The paper: a drawing surface in pixels, y down, on which lines and letters are inked.

A thin layer over Skia's rasteriser on the processor, so that pictures are byte-equal on
repetition and need neither a screen nor the fonts of the machine: the letters are DejaVu's,
which come with Matplotlib; only its files are read.
"""

from __future__ import annotations

import importlib.util
import math
import os
from collections.abc import Callable, Sequence
from functools import cache, partial
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from roof3d.errors import RoofError
from roof3d.render.png import png_bytes

Pixel: TypeAlias = tuple[float, float]
Ink: TypeAlias = "str | tuple[float, float, float]"
Points: TypeAlias = "Sequence[Pixel] | NDArray[np.float64]"

_FACES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
_EM = 2048
"""Units in which the faces are drawn."""
_FIGURES = 0.729
"""Height of the figures over the font size."""
_SPREAD = 0.18
"""Pixels by which the ink of thin dark letters spreads: Skia draws them paler than print is."""
_SNAPPED = 8
"""Corners of the largest outline that is set on whole pixels where it is upright."""


class Sheet:
    """A sheet of paper of a size in pixels.

    Parameters
    ----------
    size : tuple[int, int]
        Width and height, pixels.
    paper : colour
        ``#rrggbb``, a common name of a colour, or three floats 0 to 1.

    Notes
    -----
    All coordinates and widths are pixels from the top left corner, y down. ``order``
    stacks marks: higher lies above lower, equals in the order drawn.
    """

    def __init__(self, size: tuple[int, int], paper: Ink = "white") -> None:
        self.size = size
        self._paper = paper
        self._image: NDArray[np.uint8] | None = None
        self._marks: list[tuple[float, Callable[[Any], None]]] = []

    def image(self, colour: NDArray[np.uint8]) -> None:
        """Lay a raster of the sheet's own size (h, w, 3) pixel on pixel, below every mark."""
        self._image = colour

    def lines(
        self,
        segments: Sequence[Points] | NDArray[np.float64],
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
        skia = load_skia()
        pen = _pen(width, ink, alpha)
        pen.setStrokeJoin(skia.Paint.kRound_Join)
        pen.setStrokeCap(skia.Paint.kButt_Cap if dash or butt else skia.Paint.kRound_Cap)
        if dash:
            pen.setPathEffect(skia.DashPathEffect.Make(list(dash), 0.0))
        path = skia.Path()
        for segment in segments:
            path.addPoly(_corners(segment, width), close=False)
        self._marks.append((order, partial(_trace, path=path, paint=pen)))

    def polygon(
        self,
        points: Points,
        *,
        fill: Ink | None = None,
        ink: Ink | None = None,
        width: float = 1.0,
        alpha: float = 1.0,
        order: float = 1.0,
    ) -> None:
        """Fill and outline a polygon; one without corners is no mark."""
        if not len(points):
            return
        path = load_skia().Path()
        path.addPoly(_corners(points, 0.0 if ink is None else width), close=True)
        self._fill_and_outline(path, (fill, ink), width, alpha, order)

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
        path = load_skia().Path()
        path.addCircle(*map(float, centre), float(radius))
        self._fill_and_outline(path, (fill, ink), width, 1.0, order)

    def _fill_and_outline(
        self,
        path: Any,
        inks: tuple[Ink | None, Ink | None],
        width: float,
        alpha: float,
        order: float,
    ) -> None:
        fill, ink = inks
        paints = [] if fill is None else [_paint(fill, alpha)]
        paints += [] if ink is None else [_pen(width, ink, alpha)]
        self._marks += [(order, partial(_trace, path=path, paint=paint)) for paint in paints]

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
        glyphs, starts, width = _set_line(printable(words, bold=bold), bold)
        if not glyphs:
            return
        skia = load_skia()
        builder = skia.TextBlobBuilder()
        back = {"left": 0.0, "center": 0.5, "right": 1.0}[across] * width * size / _EM
        drop = _FIGURES / 2.0 * size
        builder.allocRunPosH(_font(size, bold), glyphs, [s * size / _EM - back for s in starts], 0)
        blob = builder.make()
        letters = _paint(ink)
        if not bold and sum(_rgb(ink)) < 1.5:
            letters.setStyle(skia.Paint.kStrokeAndFill_Style)
            letters.setStrokeWidth(_SPREAD)
        paints = [letters]
        if halo is not None:
            rim = _pen(2.0 * halo_width, halo)
            rim.setStrokeJoin(skia.Paint.kRound_Join)
            paints.insert(0, rim)
        write = partial(_write, blob=blob, paints=paints, at=at, turn_deg=turn_deg, drop=drop)
        self._marks.append((order, write))

    def pixels(self) -> NDArray[np.uint8]:
        """Return the inked sheet, (h, w, 3)."""
        skia = load_skia()
        width, height = self.size
        inked = np.empty((height, width, 4), dtype=np.uint8)
        if self._image is None:
            paper = (255.0 * np.array((*_rgb(self._paper), 1.0))).round().astype(np.uint8)
            inked.view(np.uint32)[...] = paper.view(np.uint32)
        else:
            # A colour at a time: NumPy is slow to copy three bytes of four.
            for k in range(3):
                inked[..., k] = self._image[..., k]
            inked[..., 3] = 255
        surface = skia.Surface(inked, skia.kRGBA_8888_ColorType, skia.kPremul_AlphaType)
        with surface as canvas:
            for _, draw in sorted(self._marks, key=lambda mark: mark[0]):
                draw(canvas)
        pixels = np.empty((height, width, 3), dtype=np.uint8)
        for k in range(3):
            pixels[..., k] = inked[..., k]
        return pixels

    def png(self) -> bytes:
        """Return the sheet as a PNG file; the same marks give the same bytes."""
        return png_bytes(self.pixels())


@cache
def load_skia() -> Any:
    """Load the library that inks.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where a library of the system is missing that it needs.
    """
    try:
        import skia
    except ImportError as error:
        raise RoofError(
            f"this machine cannot draw pictures: {error}",
            hint="on Debian or Ubuntu: apt-get install --no-install-recommends "
            "libegl1 libgl1 libgl1-mesa-dri; commands that draw nothing work without them",
            code="R3D-GRAPHICS",
        ) from error
    return skia


def _trace(canvas: Any, *, path: Any, paint: Any) -> None:
    canvas.drawPath(path, paint)


def _write(
    canvas: Any, *, blob: Any, paints: Sequence[Any], at: Pixel, turn_deg: float, drop: float
) -> None:
    """Put a set line on the canvas; an upright one stands on a whole pixel, to be crisp."""
    x, y = float(at[0]), float(at[1])
    canvas.save()
    canvas.translate(x, y if turn_deg else round(y + drop) - drop)
    canvas.rotate(-turn_deg)
    for paint in paints:
        canvas.drawTextBlob(blob, 0.0, drop, paint)
    canvas.restore()


def _corners(points: Points, width: float) -> list[Any]:
    """Points as Skia takes them; an upright outline is set so that its edges are crisp."""
    listed = points.tolist() if isinstance(points, np.ndarray) else list(points)
    closed = pairwise([*listed, listed[0]])
    if len(listed) <= _SNAPPED and all(a[0] == b[0] or a[1] == b[1] for a, b in closed):
        # The middle of a line an odd number of pixels wide lies in the middle of a pixel.
        odd = 0.5 if round(width) % 2 else 0.0
        listed = [
            (math.floor(x - odd + 0.5) + odd, math.floor(y - odd + 0.5) + odd) for x, y in listed
        ]
    point = load_skia().Point
    return [point(x, y) for x, y in listed]


def _paint(ink: Ink, alpha: float = 1.0) -> Any:
    skia = load_skia()
    return skia.Paint(AntiAlias=True, Color4f=skia.Color4f(*_rgb(ink), alpha))


def _pen(width: float, ink: Ink, alpha: float = 1.0) -> Any:
    paint = _paint(ink, alpha)
    paint.setStyle(load_skia().Paint.kStroke_Style)
    paint.setStrokeWidth(width)
    return paint


def _rgb(ink: Ink) -> tuple[float, float, float]:
    """Return a colour as three floats, 0 to 1."""
    if not isinstance(ink, str):
        return ink
    from PIL import ImageColor

    red, green, blue, *_ = ImageColor.getrgb(ink)
    return red / 255.0, green / 255.0, blue / 255.0


@cache
def _face(bold: bool) -> Any:  # noqa: FBT001 - one of two faces
    """Return one of the two faces, read from its file alone: no list of the machine's fonts."""
    found = importlib.util.find_spec("matplotlib")
    home = Path(os.devnull) if found is None or found.origin is None else Path(found.origin).parent
    file = home / "mpl-data" / "fonts" / "ttf" / _FACES[bold]
    face = load_skia().FontMgr.New_Custom_Empty().makeFromFile(str(file))
    if face is None:
        raise RoofError(
            "the letters of the pictures are missing",
            where=str(file),
            hint="install Matplotlib again: pip install --force-reinstall matplotlib",
            code="R3D-GRAPHICS",
        )
    return face


@cache
def _font(size: float, bold: bool) -> Any:  # noqa: FBT001 - one of two faces
    """Return a face at a size: letters stand where they should, to parts of a pixel."""
    skia = load_skia()
    font = skia.Font(_face(bold), size)
    font.setEdging(skia.Font.Edging.kAntiAlias)
    font.setSubpixel(True)
    font.setLinearMetrics(True)
    font.setHinting(skia.FontHinting.kSlight)
    return font


@cache
def _glyph(letter: str, bold: bool) -> tuple[int, float]:  # noqa: FBT001 - one of two faces
    """Return number and width of a letter, in units of the face; number 0 where it has none."""
    skia = load_skia()
    font = skia.Font(_face(bold), float(_EM))
    font.setHinting(skia.FontHinting.kNone)
    glyph = font.unicharToGlyph(ord(letter))
    return glyph, float(font.getWidths([glyph])[0])


@cache
def _set_line(
    words: str,
    bold: bool,  # noqa: FBT001 - one of two faces
) -> tuple[list[int], list[float], float]:
    """Glyphs of a line, where each starts, and its width, in units of the face; kerned."""
    letters = [_glyph(letter, bold) for letter in words]
    glyphs = [glyph for glyph, _ in letters]
    kerns = _face(bold).getKerningPairAdjustments(glyphs) if len(glyphs) > 1 else None
    starts = [0.0]
    for (_, width), kern in zip(letters, [*(kerns or [0] * (len(glyphs) - 1)), 0], strict=False):
        starts.append(starts[-1] + width + kern)
    return glyphs, starts[:-1], starts[-1]


@cache
def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """Return the width of one line of text, pixels, as ``Sheet.text`` writes it."""
    return _set_line(printable(words, bold=bold), bold)[2] * size / _EM


@cache
def printable(words: str, *, bold: bool = False) -> str:
    """Return words with a question mark for each letter that the face does not have."""
    return "".join(letter if _glyph(letter, bold)[0] else "?" for letter in words)


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
