"""A drawing as PDF: one page of its size, with the letters embedded."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from typing import Any

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
from roof3d.writers.drawing.svg import number_text

_POINTS = 72.0 / 25.4
_REGULAR, _BOLD = "Roof3dRegular", "Roof3dBold"
_FILES = {_REGULAR: "Vera.ttf", _BOLD: "VeraBd.ttf"}
_DOT, _LEADER, _DIMENSION = 0.5, Stroke(width=0.18), Stroke(width=0.13)


def pdf_bytes(*drawings: Drawing) -> bytes:
    """Write drawings as PDF, one a page.

    Parameters
    ----------
    *drawings : Drawing
        At least one.

    Returns
    -------
    bytes
        Equal for equal input: it holds no date.
    """
    from reportlab.pdfgen.canvas import Canvas

    _register_faces()
    buffer = io.BytesIO()
    canvas: Any = Canvas(buffer, invariant=1, pageCompression=1)
    canvas.setTitle(drawings[0].title)
    canvas.setCreator("roof3d")
    canvas.setAuthor("roof3d")
    canvas.setSubject(drawings[0].scale_words)
    for drawing in drawings:
        width, height = drawing.size
        canvas.setPageSize((width * _POINTS, height * _POINTS))
        canvas.scale(_POINTS, _POINTS)
        canvas.setLineJoin(1)
        for mark in drawing.marks:
            _draw(canvas, mark)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


@cache
def _register_faces() -> None:
    import reportlab
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(reportlab.__file__).parent / "fonts"
    for name, file in _FILES.items():
        registerFont(TTFont(name, str(folder / file)))


def _draw(canvas: Any, mark: Mark) -> None:
    match mark:
        case Line():
            _path(canvas, [mark.points], mark.stroke)
        case Area():
            _area(canvas, mark)
        case Dot():
            canvas.setFillGray(0.0 if mark.filled else 1.0)
            canvas.setStrokeGray(0.0)
            canvas.setLineWidth(0.1)
            canvas.setDash()
            canvas.circle(*mark.at, mark.radius, stroke=1, fill=1)
        case Text():
            _text(canvas, mark)
        case Callout():
            _callout(canvas, mark)
        case Dimension():
            _path(canvas, [mark.line, *mark.extensions], _DIMENSION)
            _fill(canvas, mark.arrows, 0.0)
            _text(canvas, mark.text)


def _area(canvas: Any, area: Area) -> None:
    if area.hatch is not None:
        _fill(canvas, area.rings, area.hatch.tone)
        for rule in area.hatch.rules:
            pen = Stroke(width=area.hatch.pen, dash=rule.dash)
            _path(canvas, list(hatch_lines(area, rule)), pen)
    if area.stroke is not None:
        _path(canvas, [(*ring, ring[0]) for ring in area.rings], area.stroke)


def _callout(canvas: Any, callout: Callout) -> None:
    canvas.setFillGray(0.0)
    if callout.leader is not None:
        _path(canvas, [callout.leader], _LEADER)
        canvas.circle(*callout.anchor, _DOT, stroke=0, fill=1)
    canvas.setFillGray(1.0)
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(0.3)
    canvas.setDash()
    canvas.circle(*callout.centre, callout.radius, stroke=1, fill=1)
    _text(canvas, number_text(callout))


def _path(canvas: Any, runs: list[tuple[Point, ...]], stroke: Stroke) -> None:
    if not runs:
        return
    path = canvas.beginPath()
    for run in runs:
        path.moveTo(*run[0])
        for point in run[1:]:
            path.lineTo(*point)
        if run[0] == run[-1] and len(run) > 2:
            path.close()
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(stroke.width)
    canvas.setDash(*([list(stroke.dash)] if stroke.dash else []))
    canvas.drawPath(path, stroke=1, fill=0)


def _fill(canvas: Any, rings: tuple[tuple[Point, ...], ...], tone: float) -> None:
    path = canvas.beginPath()
    for ring in rings:
        path.moveTo(*ring[0])
        for point in ring[1:]:
            path.lineTo(*point)
        path.close()
    canvas.setFillGray(tone)
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


def _text(canvas: Any, text: Text) -> None:
    canvas.setFillGray(0.0)
    canvas.setFont(_BOLD if text.bold else _REGULAR, text.height / CAPITAL)
    canvas.saveState()
    canvas.translate(*text.at)
    canvas.rotate(text.turn_deg)
    shift = {"left": 0.0, "center": 0.5, "right": 1.0}[text.across] * text.width
    canvas.drawString(-shift, -0.5 * text.height, text.text)
    canvas.restoreState()
