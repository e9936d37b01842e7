"""What strips follow: edges of the roof and sides of openings, as one plane has them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.model import Assembly, Catalog
from roof3d.layout.borders.frame import to_plane
from roof3d.layout.model import LaidPlane, Point2, Side
from roof3d.layout.strips.flashing import load_flashing_rule
from roof3d.roof.model import Edge, Parapet, Point3, Roof, RoofOpening, Scupper
from roof3d.spec.model import LayoutSpec, OpeningKind, SiteSpec
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units

ASTRIDE: Final = (Border.RIDGE, Border.HIP, Border.VALLEY)
"""One strip there lies on both planes."""

_ROUND: Final = (Border.PIPE, Border.DRAIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An edge, or a side of an opening, as one plane has it.

    Attributes
    ----------
    owner : str
        Id of the edge or opening.
    rim : bool
        Whether that is an opening.
    border : Border
    ends : two of Point2
        In the plane's frame: of an edge in its own order, else the lower first.
    length : float
        Metres; of a pipe all the way round.
    rise, gap : float
        Of a joint, as its side has them.
    opening : str
        Kind of the opening; empty for an edge.
    cricket : bool
        Whether the opening has a cricket behind it.
    parapet : Parapet or None
        That stands on the edge.
    wall : float
        Height of that parapet above the roof, at its higher end, metres; else 0.
    corner : float or None
        Where the coping turns a corner that is counted with this edge, metres along it.
    """

    owner: str
    rim: bool
    border: Border
    ends: tuple[Point2, Point2]
    length: float
    rise: float = 0.0
    gap: float = 0.0
    opening: str = ""
    cricket: bool = False
    parapet: Parapet | None = None
    wall: float = 0.0
    corner: float | None = None

    @property
    def where(self) -> str:
        """Return the place as findings name it."""
        return f"openings[{self.owner}]" if self.rim else f"edges[{self.owner}]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A strip to lay: a rule of a plane's assembly along one line."""

    line: Line
    rule: StripRule
    plane: LaidPlane
    assembly: Assembly


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What catalog and model say of every strip."""

    catalog: Catalog
    site: SiteSpec
    layout: LayoutSpec
    units: Units
    tol: Tolerance

    def ask_for(self, rule: StripRule) -> bool:
        """Return whether the model wants strips of a rule."""
        return (
            rule.valley in {"", self.layout.valley.value}
            and (self.site.ice_barrier or not rule.ice_only)
            and (self.layout.ridge_vent or not rule.vent)
            and (self.layout.rake_starter or not rule.rake_starter)
        )

    def ask_along(self, rule: StripRule, line: Line) -> bool:
        """Return whether a strip of a rule lies along a line."""
        vented = self.layout.ridge_vent and line.border is Border.RIDGE
        return (
            line.border in rule.at
            and rule.opening in {"", line.opening}
            and not (rule.no_vent and vented)
            and not (rule.no_cricket and line.cricket)
            and self.ask_for(rule)
        )


def lines_of(plane: LaidPlane, roof: Roof, *, tol: Tolerance = DEFAULT) -> Iterator[Line]:
    """Give every line of a plane: its edges in the order of the roof, then its openings.

    Parameters
    ----------
    plane : LaidPlane
        Its sides tell the border of each edge.
    roof : Roof
    tol : Tolerance
        Its ``snap`` keeps rounding from crossing the width that asks for a cricket.

    Yields
    ------
    Line
        An edge once, at its true ends, however many sides of the plane lie on it; of an
        opening each straight side, of a pipe or drain its whole rim; then each scupper.
    """
    first = {side.edge: side for side in reversed(plane.sides)}
    for edge in roof.edges:
        if edge.id in first:
            yield Line(
                owner=edge.id,
                rim=False,
                border=first[edge.id].border,
                ends=_in_frame(edge.ends, plane),
                length=edge.length,
                rise=first[edge.id].rise,
                gap=first[edge.id].gap,
                parapet=edge.parapet,
                wall=0.0 if edge.parapet is None else max(edge.wall_heights or (0.0,)),
                corner=mitred_end(edge, tol=tol),
            )
    for opening in roof.openings:
        sides = [side for side in plane.sides if side.edge == opening.id]
        around = [side for side in sides if side.border in _ROUND]
        if around:
            length = sum(length_of(side) for side in around)
            yield _rim_line(around[0], length, opening, tol)
        for side in sides:
            if side.border not in _ROUND:
                yield _rim_line(side, length_of(side), opening, tol)
    for scupper in roof.scuppers:
        if scupper.plane == plane.plane.id:
            yield _scupper_line(scupper, roof.edge(scupper.edge), plane)


def needs_cricket(opening: RoofOpening, tol: Tolerance = DEFAULT) -> bool:
    """Return whether an opening is wide enough for a cricket; a skylight's kit does without."""
    wide = opening.width_across > load_flashing_rule().cricket_wider_than + tol.snap
    return wide and opening.kind not in {OpeningKind.SKYLIGHT, OpeningKind.DRAIN}


def length_of(side: Side) -> float:
    """Return the length of a side, metres."""
    return math.dist(side.start, side.end)


def _rim_line(side: Side, length: float, opening: RoofOpening, tol: Tolerance) -> Line:
    low, high = sorted((side.start, side.end), key=lambda point: point[1])
    return Line(
        owner=side.edge,
        rim=True,
        border=side.border,
        ends=(low, high),
        length=length,
        opening=opening.kind.value,
        cricket=needs_cricket(opening, tol),
    )


def _scupper_line(scupper: Scupper, edge: Edge, plane: LaidPlane) -> Line:
    """Return the sill of a scupper, as long as its opening is round."""
    (u0, v0), (u1, v1) = _in_frame(edge.ends, plane)
    near, far = (
        (scupper.along + step) / edge.length for step in (-scupper.width / 2.0, scupper.width / 2.0)
    )
    return Line(
        owner=scupper.id,
        rim=True,
        border=Border.SCUPPER,
        ends=(
            (u0 + near * (u1 - u0), v0 + near * (v1 - v0)),
            (u0 + far * (u1 - u0), v0 + far * (v1 - v0)),
        ),
        length=2.0 * (scupper.width + scupper.height),
        opening=OpeningKind.SCUPPER.value,
    )


def mitred_end(edge: Edge, *, tol: Tolerance = DEFAULT) -> float | None:
    """Return where the coping of an edge turns the corner that is counted with it.

    Parameters
    ----------
    edge : Edge
    tol : Tolerance
        Its ``snap`` tells a mitre from a square end.

    Returns
    -------
    float or None
        Along the outside face from the edge's first end: its length, or 0. Every corner
        between two parapets is the end of one and the start of the next, counterclockwise
        round the roof, and is counted where one ends. None where the wall ends square.
    """
    if edge.parapet is None:
        return None
    (ax, ay), (bx, by), (cx, cy), _ = edge.parapet.plan
    length = math.dist((ax, ay), (bx, by))
    dx, dy = (bx - ax) / length, (by - ay) / length
    if abs((cx - bx) * dx + (cy - by) * dy) <= tol.snap:
        return None
    (x0, y0, _), (x1, y1, _) = edge.ends
    onward = (x1 - x0) * dx + (y1 - y0) * dy > 0.0
    return edge.parapet.coping_length if onward else 0.0


def _in_frame(ends: tuple[Point3, Point3], plane: LaidPlane) -> tuple[Point2, Point2]:
    (u0, v0), (u1, v1) = to_plane(plane.frame, ends)
    return (float(u0), float(v0)), (float(u1), float(v1))
