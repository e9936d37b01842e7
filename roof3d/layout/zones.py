"""Where the wind pulls harder: strips along the free edges of a plane, and its corners."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from shapely import affinity
from shapely.ops import substring

from roof3d.catalog.laying import Border
from roof3d.errors import CatalogError, LayoutError, RoofError
from roof3d.layout.joint import INCH
from roof3d.layout.model import Point2, Side
from roof3d.roof.model import Role, Roof
from roof3d.spec.model import SiteSpec, Zones
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import parse_length

FREE: Final = frozenset({Border.EAVE, Border.RAKE, Border.HIGH_EDGE})
"""Borders with nothing but air beyond."""
RIDGES: Final = frozenset({Border.RIDGE, Border.HIP})
_PAST: Final = 12.0 * INCH
"""Zones run on past the plane by this: sheets that are turned down reach less far."""

_PLACES: Final = 1
"""Decimals of the degrees by which short sides turn: more is rounding."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Zoned:
    """Wind zones of a plane in its frame, apart from each other; the rest is field.

    Attributes
    ----------
    perimeter, corner : shapely.Geometry
        Areas; empty where there is none.
    """

    perimeter: shapely.Geometry
    corner: shapely.Geometry


NO_ZONES: Final = Zoned(perimeter=shapely.Polygon(), corner=shapely.Polygon())


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneRules:
    """Every figure that the zones are set out by.

    Attributes
    ----------
    dimension_share, height_share, least_dimension_share : float
        Width a: the smaller of the first two, but at least the third.
    least_width : float
        And at least this, metres.
    ridges_from_deg : float
        Ridges and hips have strips on slopes above it, degrees.
    low_height_share, leg_depth_share : float
        Low slopes of ASCE 7-16: width of the strips and length of the corner's legs, and the
        depth of these, as shares of the mean roof height.
    low_slope_to_deg : float
        What counts as low slope there, degrees.
    eaves_to_deg : float
        Up to this slope the height of the eaves is the mean roof height, degrees.
    least_turn_deg : float
        Edges that turn by less make no corner, degrees.
    source : str
    """

    dimension_share: float
    height_share: float
    least_dimension_share: float
    least_width: float
    ridges_from_deg: float
    low_height_share: float
    leg_depth_share: float
    low_slope_to_deg: float
    eaves_to_deg: float
    least_turn_deg: float
    source: str


@cache
def load_zone_rules() -> ZoneRules:
    """Load the figures that come with the program, read once a process.

    Raises
    ------
    CatalogError
        Where the file or one of its values cannot be read.
    """
    path = Path(__file__).parent / "data" / "zones.toml"
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        sloped, low = data["asce_7_10"], data["asce_7_16"]
        return ZoneRules(
            dimension_share=float(sloped["dimension_share"]),
            height_share=float(sloped["height_share"]),
            least_dimension_share=float(sloped["least_dimension_share"]),
            least_width=parse_length(sloped["least_width"]),
            ridges_from_deg=float(sloped["ridges_from_deg"]),
            low_height_share=float(low["height_share"]),
            leg_depth_share=float(low["leg_depth_share"]),
            low_slope_to_deg=float(low["low_slope_to_deg"]),
            eaves_to_deg=float(data["mean_height"]["eaves_to_deg"]),
            least_turn_deg=float(data["corner"]["least_turn_deg"]),
            source="; ".join(str(table["source"]) for table in data.values()),
        )
    except (OSError, KeyError, RoofError, ValueError, TypeError) as error:
        raise CatalogError(
            f"cannot be read: {error}", where="zones.toml", hint="install the program again"
        ) from error


def mean_roof_height(roof: Roof, *, ground: float = 0.0) -> float:
    """Return the mean roof height above the ground, metres.

    Parameters
    ----------
    roof : Roof
    ground : float
        Height of the ground, metres.

    Returns
    -------
    float
        Midway between the lowest eave and the highest point of all planes; on a roof without a
        plane steeper than 10 degrees the lowest eave. A roof without eaves counts from its
        lowest point.
    """
    points = [point[2] for plane in roof.planes for point in plane.outline]
    eaves = [point[2] for edge in roof.edges if edge.role is Role.EAVE for point in edge.ends]
    eave = min(eaves or points)
    if max(plane.slope_deg for plane in roof.planes) <= load_zone_rules().eaves_to_deg:
        return eave - ground
    return (eave + max(points)) / 2.0 - ground


def least_dimension(roof: Roof) -> float:
    """Return the shorter side of the smallest rectangle around the roof in plan, metres.

    Overhangs are within: so it errs to the wider zone.
    """
    points = shapely.MultiPoint([point[:2] for plane in roof.planes for point in plane.outline])
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(points))
    return float(np.hypot(*np.diff(corners[:3], axis=0).T).min())


def zone_width(site: SiteSpec, roof: Roof, *, slope: float, ground: float = 0.0) -> float:
    """Return how far in from its edges a plane is a wind zone.

    Parameters
    ----------
    site : SiteSpec
        ``zones`` says by which rule.
    roof : Roof
        For its least horizontal dimension and mean roof height.
    slope : float
        Of the plane, rise over run.
    ground : float
        Height of the ground, metres; the lowest ``base`` of the sections.

    Returns
    -------
    float
        Metres in plan; 0 without zones.

    Raises
    ------
    LayoutError
        Where a width is given that is not above 0.

    References
    ----------
    ASCE 7-02 (width a); 7-10 and 7-16 from memory: see ``data/zones.toml``.
    """
    if site.zones is Zones.NONE:
        return 0.0
    if site.zones is Zones.GIVEN:
        if not (0.0 < site.zone_width < math.inf):
            raise LayoutError(
                f"a wind zone must be wider than 0, not {site.zone_width:g} m",
                where="site.zone_width",
                hint="give the width of the zone, or no zones",
            )
        return site.zone_width
    rules, height = load_zone_rules(), mean_roof_height(roof, ground=ground)
    if _by_height_alone(site.zones, slope, rules):
        return rules.low_height_share * height
    side = least_dimension(roof)
    width = min(rules.dimension_share * side, rules.height_share * height)
    return max(width, rules.least_dimension_share * side, rules.least_width)


def wind_zones(
    sides: Sequence[Side],
    outline: shapely.Polygon,
    width: float,
    *,
    slope: float,
    zones: Zones,
    tol: Tolerance = DEFAULT,
) -> Zoned:
    """Set out the wind zones of a plane.

    Parameters
    ----------
    sides : sequence of Side
        Of the plane, in its frame.
    outline : shapely.Polygon
        In the same frame.
    width : float
        In plan, metres, from ``zone_width``; along the slope it is longer.
    slope : float
        Rise over run.
    zones : Zones
    tol : Tolerance

    Returns
    -------
    Zoned
        An edge with a parapet is as free as one without. The corner lies within the width of
        two free edges that meet at an outside corner, the
        perimeter within that of one, and on steeper slopes of a ridge or hip. On a low slope by
        ASCE 7-16 a corner is an L of two legs. What lies further in, zones 1 and 1' there, is
        field. Both run on a foot past the plane, for what is turned down over its edges.
    """
    if zones is Zones.NONE or width <= 0.0:
        return NO_ZONES
    rules = load_zone_rules()
    angle = math.atan(slope)
    legs = _by_height_alone(zones, slope, rules)
    plan = affinity.scale(outline, 1.0, math.cos(angle), origin=(0, 0))
    plan = plan.buffer(_PAST, join_style="mitre")
    lines = {
        kind: [
            _in_plan(side, math.cos(angle))
            for side in sides
            if (side.border in kind or (kind is FREE and side.parapet > 0.0))
            and math.dist(side.start, side.end) > tol.merge
        ]
        for kind in (FREE, RIDGES)
    }
    strips = lines[FREE]
    if zones is not Zones.GIVEN and math.degrees(angle) > rules.ridges_from_deg:
        strips = [*strips, *lines[RIDGES]]
    depth = width * rules.leg_depth_share / rules.low_height_share if legs else width

    def drawn(shape: shapely.Geometry) -> shapely.Geometry:
        """Draw a simple shape out along the slope: what is cut later would cross itself."""
        return affinity.scale(shape, 1.0, 1.0 / math.cos(angle), origin=(0, 0))

    ground = drawn(plan)
    corners = [
        _corner([drawn(arm) for arm in _arms(before, after, width, depth, legs=legs)], legs=legs)
        for before, after in _outside_corners(lines[FREE], rules, tol)
    ]
    corner = _within(ground, corners)
    strip = _within(ground, [drawn(line.buffer(width)) for line in strips])
    return Zoned(perimeter=_areas(strip.difference(corner)), corner=corner)


def _by_height_alone(zones: Zones, slope: float, rules: ZoneRules) -> bool:
    """Return whether the zones follow from the height alone: low slopes of ASCE 7-16."""
    low = math.degrees(math.atan(slope)) <= rules.low_slope_to_deg
    return zones is Zones.ASCE_7_16 and low


def _in_plan(side: Side, shortening: float) -> shapely.LineString:
    """Return a side as seen from above."""
    ends = [(u, v * shortening) for u, v in (side.start, side.end)]
    return shapely.LineString(ends)


def _within(plan: shapely.Polygon, shapes: Iterable[shapely.Geometry]) -> shapely.Geometry:
    """Return what the shapes cover of the plan, areas only."""
    return _areas(shapely.intersection(shapely.union_all(list(shapes)), plan))


def _areas(shape: shapely.Geometry) -> shapely.Geometry:
    """Return a shape without points and lines."""
    parts = shapely.get_parts(shapely.get_parts(shape))  # a collection may hold several of each
    polygons = [part for part in parts if part.geom_type == "Polygon"]
    return shapely.union_all(polygons) if polygons else shapely.Polygon()


def _outside_corners(
    lines: list[shapely.LineString], rules: ZoneRules, tol: Tolerance
) -> list[tuple[shapely.LineString, shapely.LineString]]:
    """Return pairs of sides that meet at an outside corner, the first one ending there."""
    found = []
    for pair in combinations(lines, 2):
        for before, after in (pair, pair[::-1]):
            (start, at), (from_, end) = map(_ends, (before, after))
            if math.dist(at, from_) > tol.merge:
                continue
            turn = math.atan2(end[1] - from_[1], end[0] - from_[0]) - math.atan2(
                at[1] - start[1], at[0] - start[0]
            )
            turn = (math.degrees(turn) + 180.0) % 360.0 - 180.0
            if round(turn, _PLACES) >= rules.least_turn_deg:
                found.append((before, after))
    return found


def _ends(line: shapely.LineString) -> tuple[Point2, Point2]:
    start, end = shapely.get_coordinates(line).tolist()
    return tuple(start), tuple(end)


def _arms(
    before: shapely.LineString,
    after: shapely.LineString,
    width: float,
    depth: float,
    *,
    legs: bool,
) -> list[shapely.Geometry]:
    """Return the strips along both edges of a corner, or its two legs."""
    if not legs:
        return [before.buffer(width), after.buffer(width)]
    both = (
        substring(before, max(0.0, before.length - width), before.length),
        substring(after, 0.0, min(width, after.length)),
    )
    return [leg.buffer(depth, cap_style="flat") for leg in both]


def _corner(arms: list[shapely.Geometry], *, legs: bool) -> shapely.Geometry:
    """Return the zone of one corner: within both strips, or both legs."""
    return shapely.union_all(arms) if legs else shapely.intersection_all(arms)
