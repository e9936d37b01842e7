"""A drawing as DXF: in model space at true size, in inches or millimetres."""

from __future__ import annotations

import io
import math
from typing import Any

from roof3d.drawing.model import (
    ARROW,
    Area,
    Callout,
    Dimension,
    Dot,
    Drawing,
    Hatch,
    Line,
    Mark,
    Point,
    Stroke,
    Text,
)
from roof3d.units import INCH, Units
from roof3d.writers.drawing.svg import number_text

_MILLIMETRE = 1000.0
_UNITS = {Units.IMPERIAL: 1, Units.METRIC: 4}
"""``$INSUNITS``: inches, millimetres."""
_WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)
"""Line weights that the format has, hundredths of a millimetre."""
_PLAIN, _BOLD = "PLAIN", "BOLD"
_FONTS = {_PLAIN: "DejaVuSans.ttf", _BOLD: "DejaVuSans-Bold.ttf"}
_STYLE = "SHEET"
_DOT, _LEADER, _DIMENSION = 0.5, Stroke(width=0.18), Stroke(width=0.13)
_BLACK = 7
"""The colour that is black on white paper and white on a black screen."""


def dxf_bytes(drawing: Drawing) -> bytes:
    """Write a drawing as DXF of the year 2010.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    bytes
        Everything in model space, as large as it is built: inches where the drawing is
        imperial, else millimetres; letters and hatches as they print at the drawing's scale.
        Lengths are dimensions that measure what they say. Equal for equal input.
    """
    import ezdxf

    options: Any = vars(ezdxf)["options"]
    kept = options.write_fixed_meta_data_for_testing
    # Else the file would tell the day, and equal drawings would give unequal bytes.
    options.write_fixed_meta_data_for_testing = True
    try:
        return _Sheet(drawing).write()
    finally:
        options.write_fixed_meta_data_for_testing = kept


class _Sheet:
    """A document while it is written."""

    def __init__(self, drawing: Drawing) -> None:
        from ezdxf.filemanagement import new

        self.drawing = drawing
        unit = 1.0 if drawing.units is Units.METRIC else _MILLIMETRE * float(INCH)
        self.size = drawing.scale / unit
        self.document: Any = new("R2010", units=_UNITS[drawing.units])
        self.space: Any = self.document.modelspace()
        self._head()

    def write(self) -> bytes:
        """Draw everything and return the file."""
        for mark in self.drawing.marks:
            self._draw(mark)
        stream = io.StringIO()
        self.document.write(stream)
        data: bytes = self.document.encode(stream.getvalue())
        return data

    def _head(self) -> None:
        """Set units, dash patterns, letters and layers, and how dimensions look."""
        document, drawing, size = self.document, self.drawing, self.size
        metric = drawing.units is Units.METRIC
        document.header["$MEASUREMENT"] = int(metric)
        document.header["$LWDISPLAY"] = 1
        document.header["$LTSCALE"] = 1.0
        width, height = (side * size for side in drawing.size)
        document.header["$EXTMIN"], document.header["$EXTMAX"] = (0, 0, 0), (width, height, 0)
        document.set_modelspace_vport(height, center=(width / 2.0, height / 2.0))
        for name, font in _FONTS.items():
            document.styles.add(name, font=font)
        for name in drawing.layers:
            document.layers.add(name, color=_BLACK, lineweight=25)
        style = document.dimstyles.add(_STYLE)
        style.set_arrows(blk="")
        values = {
            "dimtxsty": _PLAIN,
            "dimtxt": 1.8 * size,
            "dimasz": ARROW * size,
            "dimexe": 1.3 * size,
            "dimexo": 0.8 * size,
            "dimgap": 0.6 * size,
            "dimtad": 1,
            "dimtih": 0,
            "dimtoh": 0,
            "dimscale": 1.0,
            "dimlfac": 1.0,
            "dimlwd": 13,
            "dimlwe": 13,
            "dimclrd": _BLACK,
            "dimclre": _BLACK,
            "dimclrt": _BLACK,
            "dimlunit": 2 if metric else 5,
            "dimdec": 0 if metric else 5,
        }
        for name, value in values.items():
            style.dxf.set(name, value)

    def _at(self, point: Point) -> Point:
        return point[0] * self.size, point[1] * self.size

    def _draw(self, mark: Mark) -> None:
        match mark:
            case Line():
                self._run(mark.layer, mark.points, mark.stroke)
            case Area():
                self._area(mark)
            case Dot():
                self._disc(mark.layer, mark.at, mark.radius, filled=mark.filled)
            case Text():
                self._text(mark)
            case Callout():
                if mark.leader is not None:
                    self._run(mark.layer, mark.leader, _LEADER)
                    self._disc(mark.layer, mark.anchor, _DOT, filled=True)
                values = {"layer": mark.layer, "lineweight": 30}
                self.space.add_circle(self._at(mark.centre), mark.radius * self.size, values)
                self._text(number_text(mark))
            case Dimension():
                self._dimension(mark)

    def _run(self, layer: str, points: tuple[Point, ...], stroke: Stroke) -> None:
        values = {
            "layer": layer,
            "lineweight": _weight(stroke.width),
            "linetype": self._dashes(stroke.dash),
        }
        closed = len(points) > 3 and points[0] == points[-1]
        run = [self._at(point) for point in (points[:-1] if closed else points)]
        self.space.add_lwpolyline(run, close=closed, dxfattribs=values)

    def _dashes(self, dash: tuple[float, ...]) -> str:
        """Name the line type of a dash, and make it when it first comes."""
        if not dash:
            return "Continuous"
        name = "DASH_" + "_".join(f"{part:g}".replace(".", "P") for part in dash)
        if name not in self.document.linetypes:
            parts = [
                part * self.size * (1.0 if k % 2 == 0 else -1.0) for k, part in enumerate(dash)
            ]
            self.document.linetypes.add(name, pattern=[sum(map(abs, parts)), *parts])
        return name

    def _area(self, area: Area) -> None:
        if area.hatch is not None:
            if area.hatch.tone < 1.0:
                fill = self._hatch(area)
                grey = round(255.0 * area.hatch.tone)
                fill.set_solid_fill(color=_BLACK, style=0)
                fill.rgb = (grey, grey, grey)
            if area.hatch.rules:
                self._hatch(area).set_pattern_fill(
                    "ROOF",
                    color=_BLACK,
                    scale=1.0,
                    style=0,
                    definition=self._pattern(area.hatch, area.turn_deg),
                )
        if area.stroke is not None:
            for ring in area.rings:
                self._run(area.layer, (*ring, ring[0]), area.stroke)

    def _hatch(self, area: Area) -> Any:
        hatch = self.space.add_hatch(dxfattribs={"layer": area.layer, "lineweight": 9})
        for k, ring in enumerate(area.rings):
            flags = 1 if k == 0 else 16
            points = [self._at(point) for point in ring]
            hatch.paths.add_polyline_path(points, is_closed=True, flags=flags)
        return hatch

    def _pattern(self, hatch: Hatch, turn_deg: float) -> list[list[Any]]:
        """Return a hatch as the format has it: angle, base point, step, dashes of each family."""
        lines: list[list[Any]] = []
        for rule in hatch.rules:
            angle = rule.angle_deg + turn_deg
            rad, step = math.radians(angle), rule.spacing * self.size
            away = (-step * math.sin(rad), step * math.cos(rad))
            dashes = [
                part * self.size * (1.0 if k % 2 == 0 else -1.0) for k, part in enumerate(rule.dash)
            ]
            lines.append([angle, (0.0, 0.0), away, dashes])
        return lines

    def _disc(self, layer: str, at: Point, radius: float, *, filled: bool) -> None:
        values = {"layer": layer, "lineweight": 9}
        centre = self._at(at)
        self.space.add_circle(centre, radius * self.size, values)
        if filled:
            hatch = self.space.add_hatch(color=_BLACK, dxfattribs=values)
            hatch.paths.add_edge_path().add_arc(centre, radius * self.size, 0, 360)

    def _text(self, text: Text) -> None:
        from ezdxf.enums import TextEntityAlignment

        aligned = {
            "left": TextEntityAlignment.MIDDLE_LEFT,
            "center": TextEntityAlignment.MIDDLE_CENTER,
            "right": TextEntityAlignment.MIDDLE_RIGHT,
        }[text.across]
        entity = self.space.add_text(
            _printable(text.text),
            height=text.height * self.size,
            rotation=text.turn_deg,
            dxfattribs={
                "layer": text.layer,
                "style": _BOLD if text.bold else _PLAIN,
                "color": _BLACK,
            },
        )
        entity.set_placement(self._at(text.at), align=aligned)

    def _dimension(self, dimension: Dimension) -> None:
        feet = [self._at(foot) for foot in dimension.feet]
        (ax, ay), (bx, by) = feet
        end = self._at(dimension.ends[0])
        # Off to the left of the way from the first foot to the second.
        ux, uy = dimension.way
        off = (end[0] - ax) * -uy + (end[1] - ay) * ux
        text = dimension.text
        values: dict[str, Any] = {"layer": dimension.layer}
        if text.turn_deg == 0.0 and abs(uy) > abs(ux):
            # Level beside an upright line; else text goes along its line by itself.
            values["text_rotation"] = 0.0
        made = self.space.add_aligned_dim(
            p1=(ax, ay),
            p2=(bx, by),
            distance=off,
            text=text.text,
            dimstyle=_STYLE,
            dxfattribs=values,
        )
        shift = {"left": 0.5, "center": 0.0, "right": -0.5}[text.across] * text.width
        turn = math.radians(text.turn_deg)
        at = (text.at[0] + shift * math.cos(turn), text.at[1] + shift * math.sin(turn))
        made.set_location(self._at(at))
        made.render()


def _weight(width: float) -> int:
    """Return the line weight of the format nearest to a width in millimetres."""
    return min(_WEIGHTS, key=lambda weight: abs(weight - 100.0 * width))


def _printable(words: str) -> str:
    """Return text without control characters, and without what the format takes for codes."""
    plain = "".join(letter if letter.isprintable() else " " for letter in words)
    return plain.replace("%%", "% %")
