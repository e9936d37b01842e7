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
from roof3d.roof.model import Point3, Roof, RoofOpening
from roof3d.spec.model import LayoutSpec, OpeningKind, SiteSpec
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units

ASTRIDE: Final = (Border.RIDGE, Border.HIP, Border.VALLEY)
"""One strip there lies on both planes."""


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
        opening each straight side, of a pipe its whole rim.
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
            )
    for opening in roof.openings:
        sides = [side for side in plane.sides if side.edge == opening.id]
        around = [side for side in sides if side.border is Border.PIPE]
        if around:
            length = sum(length_of(side) for side in around)
            yield _rim_line(around[0], length, opening, tol)
        for side in sides:
            if side.border is not Border.PIPE:
                yield _rim_line(side, length_of(side), opening, tol)


def needs_cricket(opening: RoofOpening, tol: Tolerance = DEFAULT) -> bool:
    """Return whether an opening is wide enough for a cricket; a skylight's kit does without."""
    wide = opening.width_across > load_flashing_rule().cricket_wider_than + tol.snap
    return wide and opening.kind is not OpeningKind.SKYLIGHT


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


def _in_frame(ends: tuple[Point3, Point3], plane: LaidPlane) -> tuple[Point2, Point2]:
    (u0, v0), (u1, v1) = to_plane(plane.frame, ends)
    return (float(u0), float(v0)), (float(u1), float(v1))
