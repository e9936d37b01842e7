"""A sheet of paper with a drawing on it, in millimetres: what SVG, PDF and DXF all print."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeAlias

from roof3d.drawing.letters import text_width
from roof3d.units import Units

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = tuple[Point, ...]
ARROW, ARROW_HALF, TAIL = 2.2, 0.4, 5.0
"""Length and half width of an arrowhead; how far a line runs on where arrows stand outside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A pen: width, and dashes as line and gap in turn, millimetres; empty for a whole line."""

    width: float
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One family of parallel lines of a hatch.

    Attributes
    ----------
    angle_deg : float
        Counterclockwise from the level.
    spacing : float
        From line to line, millimetres.
    dash : tuple of float
        Line and gap in turn, millimetres; empty for whole lines.
    """

    angle_deg: float
    spacing: float
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """What an area is filled with.

    Attributes
    ----------
    tone : float
        Grey of the ground, 0 black to 1 white.
    rules : tuple of Rule
    pen : float
        Width of its lines, millimetres.
    rim : float
        Width of the outline of what it fills, millimetres.
    """

    tone: float = 1.0
    rules: tuple[Rule, ...] = ()
    pen: float = 0.09
    rim: float = 0.25

    def widened(self, by: float) -> Hatch:
        """Return the hatch with its lines farther apart."""
        return replace(
            self,
            rules=tuple(
                replace(
                    rule, spacing=by * rule.spacing, dash=tuple(by * part for part in rule.dash)
                )
                for rule in self.rules
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A run of straight lines."""

    layer: str
    points: tuple[Point, ...]
    stroke: Stroke


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A filled area: its outline first, then holes; none of them closed.

    Attributes
    ----------
    layer : str
    rings : tuple of Ring
    hatch : Hatch or None
    turn_deg : float
        By which the hatch is turned.
    stroke : Stroke or None
        Of its rings.
    """

    layer: str
    rings: tuple[Ring, ...]
    hatch: Hatch | None = None
    turn_deg: float = 0.0
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A small disc, filled or open: a nail."""

    layer: str
    at: Point
    radius: float
    filled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text.

    Attributes
    ----------
    layer : str
    at : Point
        Halfway up its capitals, at the side that ``across`` names.
    text : str
    height : float
        Of a capital, millimetres.
    across : str
        ``left``, ``center`` or ``right``.
    turn_deg : float
    bold : bool
    """

    layer: str
    at: Point
    text: str
    height: float
    across: str = "left"
    turn_deg: float = 0.0
    bold: bool = False

    @property
    def width(self) -> float:
        """Its length, millimetres."""
        return text_width(self.text, self.height, bold=self.bold)


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout:
    """A number in a disc, with its leader to what it names.

    Attributes
    ----------
    layer, number : str
    centre, anchor : Point
        Middle of the disc, and where the leader ends in a dot; where both are one the disc
        stands on what it names.
    radius : float
    """

    layer: str
    number: str
    centre: Point
    anchor: Point
    radius: float

    @property
    def leader(self) -> tuple[Point, Point] | None:
        """From the rim of the disc to the anchor; None where the anchor is in the disc."""
        away = math.dist(self.centre, self.anchor)
        if away <= self.radius:
            return None
        share = self.radius / away
        (x, y), (a, b) = self.centre, self.anchor
        return (x + (a - x) * share, y + (b - y) * share), self.anchor


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A length with its line, its extension lines and its text.

    Attributes
    ----------
    layer, id : str
    feet : tuple[Point, Point]
        What it measures.
    ends : tuple[Point, Point]
        Of its line; as far apart as the feet are along it.
    text : Text
    value : float
        Metres; the length of the line times the scale.
    outside : bool
        Whether its arrows stand outside and point inward.
    """

    layer: str
    id: str
    feet: tuple[Point, Point]
    ends: tuple[Point, Point]
    text: Text
    value: float
    outside: bool

    @property
    def extensions(self) -> tuple[tuple[Point, Point], ...]:
        """Lines from the feet, with a small gap, to a little past the dimension line."""
        found = []
        for foot, end in zip(self.feet, self.ends, strict=True):
            away = math.dist(foot, end)
            if away > _FREE:
                (x, y), (a, b) = foot, end
                first, last = min(_GAP, away / 2.0) / away, 1.0 + _PAST / away
                found.append(
                    (
                        (x + (a - x) * first, y + (b - y) * first),
                        (x + (a - x) * last, y + (b - y) * last),
                    )
                )
        return tuple(found)

    @property
    def line(self) -> tuple[Point, Point]:
        """The line as drawn, tails and all."""
        (ax, ay), (bx, by) = self.ends
        if not self.outside:
            return self.ends
        ux, uy = self.way
        return (ax - TAIL * ux, ay - TAIL * uy), (bx + TAIL * ux, by + TAIL * uy)

    @property
    def way(self) -> Point:
        """Unit vector from the first end to the second."""
        (ax, ay), (bx, by) = self.ends
        size = math.dist(*self.ends)
        return (bx - ax) / size, (by - ay) / size

    @property
    def arrows(self) -> tuple[Ring, Ring]:
        """Both arrowheads as triangles."""
        ux, uy = self.way
        sign = -1.0 if self.outside else 1.0
        first = arrowhead(self.ends[0], (sign * ux, sign * uy))
        return first, arrowhead(self.ends[1], (-sign * ux, -sign * uy))


_FREE, _GAP, _PAST = 0.3, 0.8, 1.3

Mark: TypeAlias = Line | Area | Dot | Text | Callout | Dimension


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A sheet: everything on it, in the order in which it is drawn.

    Attributes
    ----------
    title : str
    size : tuple[float, float]
        Of the paper, millimetres; from its lower left corner x runs right, y up.
    paper : str
        Name of that size.
    scale : float
        How many times larger things are than they are drawn.
    scale_words : str
        The same for people.
    units : Units
    marks : tuple of Mark
    """

    title: str
    size: tuple[float, float]
    paper: str
    scale: float
    scale_words: str
    units: Units
    marks: tuple[Mark, ...]

    @property
    def layers(self) -> tuple[str, ...]:
        """Names of its layers, in the order in which they first come."""
        return tuple(dict.fromkeys(mark.layer for mark in self.marks))

    @property
    def texts(self) -> tuple[Text, ...]:
        """All its text, that of dimensions too; the numbers in discs left out."""
        plain = [mark for mark in self.marks if isinstance(mark, Text)]
        return (*plain, *(dimension.text for dimension in self.dimensions))

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """Its dimensions."""
        return tuple(mark for mark in self.marks if isinstance(mark, Dimension))

    @property
    def callouts(self) -> tuple[Callout, ...]:
        """Its numbers."""
        return tuple(mark for mark in self.marks if isinstance(mark, Callout))


def arrowhead(tip: Point, back: Point) -> Ring:
    """Return an arrowhead with its tip at a point and its body in the direction of ``back``."""
    (x, y), (u, v) = tip, back
    a, b = x + ARROW * u, y + ARROW * v
    return (
        (x, y),
        (a - ARROW_HALF * v, b + ARROW_HALF * u),
        (a + ARROW_HALF * v, b - ARROW_HALF * u),
    )


def moved(mark: Mark, by: Point) -> Mark:
    """Return a mark moved on its sheet."""
    match mark:
        case Line():
            return replace(mark, points=_shifted(mark.points, by))
        case Area():
            return replace(mark, rings=tuple(_shifted(ring, by) for ring in mark.rings))
        case Text() | Dot():
            return replace(mark, at=_add(mark.at, by))
        case Callout():
            return replace(mark, centre=_add(mark.centre, by), anchor=_add(mark.anchor, by))
        case Dimension():
            (a, b), (c, d) = mark.feet, mark.ends
            return replace(
                mark,
                feet=(_add(a, by), _add(b, by)),
                ends=(_add(c, by), _add(d, by)),
                text=replace(mark.text, at=_add(mark.text.at, by)),
            )


def _shifted(points: tuple[Point, ...], by: Point) -> tuple[Point, ...]:
    return tuple(_add(point, by) for point in points)


def _add(point: Point, by: Point) -> Point:
    return point[0] + by[0], point[1] + by[1]
