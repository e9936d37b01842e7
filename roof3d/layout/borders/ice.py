"""The ice barrier: how far it runs up from the eaves, by edition of the code."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, Final

import shapely

from roof3d.catalog.laying import Border
from roof3d.errors import CatalogError, LayoutError, RoofError
from roof3d.layout.borders.extent import cut_away, keep_within
from roof3d.layout.borders.margins import MITRE, Corner, corners_of, inner_margins
from roof3d.layout.model import Side
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import parse_length, parse_pitch

DATA: Final = "ice.toml"


class WallFace(StrEnum):
    """From which face of the wall the distance inside is measured."""

    EXTERIOR = "exterior"
    INTERIOR = "interior"


@dataclass(frozen=True, slots=True, kw_only=True)
class IceRule:
    """What one edition asks of an ice barrier.

    Attributes
    ----------
    code, clause : str
    inside : float
        Past the wall's face, measured level, metres.
    face : WallFace
    wall : float
        Thickness of the wall, metres; counts where ``face`` is the interior one.
    along : float
        Least length on the slope of ``steep`` planes, metres; 0 where not asked for.
    steep : float
        Rise over run from which ``along`` holds; inf where it never does.
    source : str
    """

    code: str
    clause: str
    inside: float
    face: WallFace
    source: str
    wall: float = 0.0
    along: float = 0.0
    steep: float = math.inf


def ice_rule(code: str, *, face: WallFace | None = None, wall: float = 0.0) -> IceRule:
    """Return the rule of an edition.

    Parameters
    ----------
    code : str
        For instance ``IRC 2018``; case and spaces do not matter.
    face : WallFace or None
        Where the place measures from another face than the edition.
    wall : float
        Thickness of the wall, metres, needed for the interior face.

    Returns
    -------
    IceRule

    Raises
    ------
    LayoutError
        If the edition is not known, or the interior face is asked for without a wall.

    Examples
    --------
    >>> round(ice_rule("IRC 2018").inside / 0.0254)
    24
    """
    rules = load_ice_rules()
    wanted = "".join(code.split()).casefold()
    for rule in rules:
        if "".join(rule.code.split()).casefold() == wanted:
            found = replace(rule, face=face or rule.face, wall=wall)
            if found.face is WallFace.INTERIOR and not wall > 0.0:
                raise LayoutError(
                    f"measured from the interior face of a wall {wall:g} m thick",
                    where="ice barrier",
                    hint="give the thickness of the wall, above 0",
                )
            return found
    raise LayoutError(
        f'no ice barrier rule is known for "{code}"',
        where="site.code",
        hint=f"one of {', '.join(rule.code for rule in rules)}",
    )


@cache
def load_ice_rules() -> tuple[IceRule, ...]:
    """Load the editions that come with the program, once a process.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    try:
        text = (Path(__file__).parent / "data" / DATA).read_text(encoding="utf-8")
        return parse_ice_rules(tomllib.loads(text))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CatalogError(
            f"cannot be read: {error}", where=DATA, hint="install the program again"
        ) from error


def parse_ice_rules(data: dict[str, Any]) -> tuple[IceRule, ...]:
    """Turn the data of ``ice.toml`` into rules.

    Raises
    ------
    CatalogError
        Where a key is missing or a value cannot be read.
    """
    try:
        return tuple(
            IceRule(
                code=edition["code"],
                clause=edition["clause"],
                inside=parse_length(edition["inside"]),
                face=WallFace(edition["face"]),
                along=parse_length(edition["along"]) if "along" in edition else 0.0,
                steep=parse_pitch(edition["steep"]) if "along" in edition else math.inf,
                source=edition["source"],
            )
            for edition in data["edition"]
        )
    except KeyError as error:
        raise CatalogError(f"{error} is missing", where=DATA) from error
    except (RoofError, ValueError, TypeError, AttributeError) as error:
        raise CatalogError(f"cannot be read: {error}", where=DATA) from error


def ice_reach(side: Side, slope: float, rule: IceRule, *, tol: Tolerance = DEFAULT) -> float:
    """Return how far the barrier runs up from an eave, metres along the slope.

    Parameters
    ----------
    side : Side
        An eave; any other side has none.
    slope : float
        Of the plane, rise over run.
    rule : IceRule
    tol : Tolerance
        Its ``slope`` keeps rounding from crossing the limit of steep planes.

    Examples
    --------
    >>> eave = Side(border=Border.EAVE, edge="e", start=(0, 0), end=(1, 0), overhang=0.3048)
    >>> round(ice_reach(eave, 6 / 12, ice_rule("IRC 2018")) / 0.0254, 2)
    40.25
    """
    if side.border is not Border.EAVE:
        return 0.0
    face = rule.wall if rule.face is WallFace.INTERIOR else 0.0
    reach = (side.overhang + face + rule.inside) * math.hypot(1.0, slope)
    if slope >= rule.steep - tol.slope:
        reach = max(reach, rule.along)
    return max(reach, 0.0)


def ice_zone(
    outline: shapely.Polygon,
    sides: Sequence[Side],
    slope: float,
    rule: IceRule,
    *,
    tol: Tolerance = DEFAULT,
) -> shapely.Geometry:
    """Return the part of a plane that the barrier covers.

    Parameters
    ----------
    outline : shapely.Polygon
    sides : sequence of Side
        All of the plane's.
    slope : float
        Rise over run.
    rule : IceRule
    tol : Tolerance

    Returns
    -------
    shapely.Geometry
        Margins square to the eaves, to where they meet other sides or, past the ends of those,
        square to the eave; empty without an eave.

    Raises
    ------
    InvariantError
        If the sides do not close to rings.
    """
    depths = [ice_reach(side, slope, rule, tol=tol) for side in sides]
    return keep_within(outline, _margins(sides, depths, tol), tol=tol)


def without_ice(
    extent: shapely.Geometry,
    outline: shapely.Polygon,
    sides: Sequence[Side],
    slope: float,
    rule: IceRule,
    after_ice: float,
    *,
    tol: Tolerance = DEFAULT,
) -> shapely.Geometry:
    """Return what is left for a layer that starts a little below the head of the barrier.

    Parameters
    ----------
    extent : shapely.Geometry
        What it would cover without a barrier.
    outline, sides, slope, rule
        As for ``ice_zone``.
    after_ice : float
        How far below the barrier's head it starts, metres.
    tol : Tolerance

    Returns
    -------
    shapely.Geometry
        What is turned down over those eaves is gone too, and what is wrapped over a rake or
        hip beside the barrier. Where the barrier ends within the plane, the layer laps its side
        as it does its head.
    """
    depths = [
        max(0.0, ice_reach(side, slope, rule, tol=tol) - after_ice)
        if side.border is Border.EAVE
        else 0.0
        for side in sides
    ]
    if extent.is_empty or not any(depths):
        return extent
    gone = [*_margins(sides, depths, tol), _beyond(extent, outline, sides, depths, tol)]
    left = cut_away(extent, gone, tol=tol)
    beside = _beside(outline, ice_zone(outline, sides, slope, rule, tol=tol), after_ice, tol)
    lost = shapely.difference(extent, left)
    lost = lost.buffer(tol.sliver, join_style="mitre").buffer(-tol.sliver, join_style="mitre")
    if shapely.intersection(beside, lost).buffer(-tol.snap).area <= tol.area:
        return left
    gone = shapely.get_parts(shapely.difference(lost, beside))
    return cut_away(extent, [[part for part in gone if part.geom_type == "Polygon"]], tol=tol)


def _beside(
    outline: shapely.Polygon, zone: shapely.Geometry, lap: float, tol: Tolerance
) -> shapely.Geometry:
    """Return what lies over a barrier from beside and above it."""
    rest = shapely.difference(outline, zone, grid_size=tol.cut_grid)
    rest = rest.buffer(-tol.snap, join_style="mitre")
    return rest.buffer(lap + tol.snap, join_style="mitre")


def _margins(
    sides: Sequence[Side], depths: Sequence[float], tol: Tolerance
) -> list[Iterator[shapely.Geometry]]:
    rings = corners_of(sides, [-depth for depth in depths], tol=tol)
    return [inner_margins(ring, tol=tol, square=True) for ring in rings]


def _beyond(
    extent: shapely.Geometry,
    outline: shapely.Polygon,
    sides: Sequence[Side],
    depths: Sequence[float],
    tol: Tolerance,
) -> Iterator[shapely.Geometry]:
    """Yield what lies off the plane below the eaves, and beside their margins at free ends."""
    vertices = shapely.points(shapely.get_coordinates(extent))
    far = float(shapely.distance(outline, vertices).max())
    corners = [corner for ring in corners_of(sides, depths, tol=tol) for corner in ring]
    ends = {corner.before: corner for corner in corners}

    def past(corner: Corner, depth: float) -> float:
        """How far past its end an eave's margin still meets what lies beyond the other side."""
        if corner.sin <= tol.in_line:
            return 0.0
        return (far + depth * max(0.0, corner.cos)) / max(corner.sin, 1.0 / MITRE)

    for corner in corners:
        side = corner.after
        if side.distance > 0.0:
            low = -past(corner, side.distance)
            high = side.length + past(ends[side], side.distance)
            band = shapely.union(side.band(low, high, far), side.band(low, high, -side.distance))
            yield shapely.difference(band, outline, grid_size=tol.cut_grid)
