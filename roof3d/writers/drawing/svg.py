"""A drawing as SVG: in millimetres, with real text and one group a layer."""

from __future__ import annotations

import math
from collections.abc import Iterable
from xml.etree import ElementTree as ET

from roof3d.drawing.hatches import hatch_lines
from roof3d.drawing.letters import CAPITAL
from roof3d.drawing.model import (
    Area,
    Callout,
    Dimension,
    Dot,
    Drawing,
    Line,
    Mark,
    Point,
    Stroke,
    Text,
)

_SVG = "http://www.w3.org/2000/svg"
_FACES = "'DejaVu Sans', 'Bitstream Vera Sans', Verdana, Arial, sans-serif"
_ANCHORS = {"left": "start", "center": "middle", "right": "end"}
_DOT, _LEADER = 0.5, Stroke(width=0.18)
_DIMENSION = Stroke(width=0.13)


def svg_bytes(drawing: Drawing) -> bytes:
    """Write a drawing as SVG.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    bytes
        UTF-8; one user unit is a millimetre of the paper. Equal for equal input.
    """
    ET.register_namespace("", _SVG)
    width, height = drawing.size
    root = ET.Element(
        _name("svg"),
        {
            "width": f"{width:g}mm",
            "height": f"{height:g}mm",
            "viewBox": f"0 0 {width:g} {height:g}",
            "font-family": _FACES,
            "fill": "none",
            "stroke-linejoin": "round",
        },
    )
    ET.SubElement(root, _name("title")).text = f"{drawing.title}, {drawing.scale_words}"
    ET.SubElement(
        root, _name("rect"), {"width": f"{width:g}", "height": f"{height:g}", "fill": "#fff"}
    )
    group, layer = root, ""
    for mark in drawing.marks:
        # A layer may come again: what is drawn later lies above.
        if mark.layer != layer:
            layer = mark.layer
            group = ET.SubElement(root, _name("g"), {"class": layer})
        _draw(group, mark, height)
    ET.indent(root, space=" ")
    text: str = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _draw(group: ET.Element, mark: Mark, top: float) -> None:
    match mark:
        case Line():
            _path(group, [mark.points], top, mark.stroke)
        case Area():
            _area(group, mark, top)
        case Dot():
            pen = {"fill": "#000" if mark.filled else "#fff", "stroke": "#000"}
            _circle(group, mark.at, mark.radius, top, pen | {"stroke-width": "0.1"})
        case Text():
            _text(group, mark, top)
        case Callout():
            _callout(group, mark, top)
        case Dimension():
            part = ET.SubElement(
                group, _name("g"), {"id": f"dimension-{mark.id}", "class": "dimension"}
            )
            _path(part, (mark.line, *mark.extensions), top, _DIMENSION)
            _path(part, mark.arrows, top, None, fill="#000", closed=True)
            _text(part, mark.text, top)


def _area(group: ET.Element, area: Area, top: float) -> None:
    if area.hatch is not None:
        grey = round(255.0 * area.hatch.tone)
        fill = f"#{grey:02x}{grey:02x}{grey:02x}"
        _path(group, area.rings, top, None, fill=fill, closed=True)
        for rule in area.hatch.rules:
            pen = Stroke(width=area.hatch.pen, dash=rule.dash)
            _path(group, hatch_lines(area, rule), top, pen)
    if area.stroke is not None:
        _path(group, area.rings, top, area.stroke, closed=True)


def _callout(group: ET.Element, callout: Callout, top: float) -> None:
    if callout.leader is not None:
        _path(group, [callout.leader], top, _LEADER)
        _circle(group, callout.anchor, _DOT, top, {"fill": "#000"})
    pen = {"fill": "#fff", "stroke": "#000", "stroke-width": "0.3"}
    _circle(group, callout.centre, callout.radius, top, pen)
    _text(group, number_text(callout), top)


def number_text(callout: Callout) -> Text:
    """Return the number of a callout as text in the middle of its disc."""
    return Text(
        layer=callout.layer,
        at=callout.centre,
        text=callout.number,
        height=0.95 * callout.radius if len(callout.number) == 1 else 0.78 * callout.radius,
        across="center",
        bold=True,
    )


def _path(
    group: ET.Element,
    runs: Iterable[tuple[Point, ...]],
    top: float,
    stroke: Stroke | None,
    *,
    fill: str = "",
    closed: bool = False,
) -> None:
    end = "Z" if closed else ""
    words = " ".join(
        "M" + " L".join(f"{_number(x)} {_number(top - y)}" for x, y in run) + end for run in runs
    )
    if not words:
        return
    values = {"d": words}
    if fill:
        values |= {"fill": fill, "fill-rule": "evenodd"}
    if stroke is not None:
        values |= {"stroke": "#000", "stroke-width": f"{stroke.width:g}"}
        if stroke.dash:
            values["stroke-dasharray"] = " ".join(f"{part:g}" for part in stroke.dash)
    ET.SubElement(group, _name("path"), values)


def _circle(
    group: ET.Element, centre: Point, radius: float, top: float, pen: dict[str, str]
) -> None:
    x, y = centre
    values = {"cx": _number(x), "cy": _number(top - y), "r": f"{radius:g}", **pen}
    ET.SubElement(group, _name("circle"), values)


def _text(group: ET.Element, text: Text, top: float) -> None:
    """Write text as long as it was measured, whichever font the reader has."""
    rad = math.radians(text.turn_deg)
    x, y = text.at
    # From halfway up its capitals down to the line that it stands on.
    x, y = x + 0.5 * text.height * math.sin(rad), y - 0.5 * text.height * math.cos(rad)
    values = {
        "x": _number(x),
        "y": _number(top - y),
        "font-size": _number(text.height / CAPITAL),
        "fill": "#000",
        "textLength": _number(text.width),
        "lengthAdjust": "spacingAndGlyphs",
    }
    if text.across != "left":
        values["text-anchor"] = _ANCHORS[text.across]
    if text.bold:
        values["font-weight"] = "bold"
    if text.turn_deg:
        values["transform"] = f"rotate({-text.turn_deg:.4f} {_number(x)} {_number(top - y)})"
    ET.SubElement(group, _name("text"), values).text = _printable(text.text)


def _printable(words: str) -> str:
    """Return text without control characters, which XML has no place for."""
    return "".join(letter if letter.isprintable() else " " for letter in words)


def _number(value: float) -> str:
    """Write a coordinate to a ten-thousandth of a millimetre."""
    return f"{value:.4f}".rstrip("0").rstrip(".") or "0"


def _name(tag: str) -> str:
    return f"{{{_SVG}}}{tag}"
