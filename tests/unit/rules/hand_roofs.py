"""Roofs written down by hand, so that tests here need no roof builder."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roof3d.roof.model import (
    Edge,
    Kind,
    Plane,
    Point3,
    Role,
    Roof,
    RoofOpening,
)
from roof3d.spec.model import (
    Form,
    OpeningKind,
    OverhangSpec,
    PlaneSpec,
    RoofSpec,
    RuleSpec,
    SectionSpec,
    SiteSpec,
)
from roof3d.units import Units

CUTOFF = 2 / 12


def make_plane(
    plane_id: str,
    rectangle: tuple[float, float, float, float],
    gradient: tuple[float, float],
    *,
    offset: float = 3.0,
    covered: float = 0.0,
    kind: Kind | None = None,
) -> Plane:
    west, south, east, north = rectangle
    corners = [(west, south), (east, south), (east, north), (west, north)]
    plan_area = (east - west) * (north - south)
    slope = math.hypot(*gradient)
    return Plane(
        id=plane_id,
        section=plane_id.split(".", maxsplit=1)[0],
        kind=kind or (Kind.LOW if slope < CUTOFF - 1e-9 else Kind.STEEP),
        gradient=gradient,
        offset=offset,
        outline=tuple((x, y, offset + gradient[0] * x + gradient[1] * y) for x, y in corners),
        holes=(),
        plan_area=plan_area,
        area=plan_area * math.sqrt(1 + slope * slope),
        covered_plan_area=covered,
    )


def make_edge(edge_id: str, role: Role, ends: tuple[Point3, Point3], *planes: str) -> Edge:
    return Edge(
        id=edge_id,
        role=role,
        ends=ends,
        planes=planes,
        length=math.dist(*ends),
        plan_length=math.dist(ends[0][:2], ends[1][:2]),
        convex=role in {Role.RIDGE, Role.HIP},
    )


def make_opening(
    width: float, *planes: str, kind: OpeningKind = OpeningKind.CHIMNEY, south: float = 0.0
) -> RoofOpening:
    """Give an opening one metre deep whose south-west corner lies at (0, ``south``)."""
    return RoofOpening(
        id="stack",
        kind=kind,
        planes=planes,
        outline=((0.0, south), (width, south), (width, south + 1.0), (0.0, south + 1.0)),
        rim=(),
        perimeter=2 * width + 2,
        width_across=width,
        plan_area=width,
        top=9.0,
    )


def one_plane(slope: float, *, kind: Kind | None = None) -> Roof:
    """Give a roof of one plane that falls south at that slope."""
    plane = make_plane("main.south", (0, 0, 12, 4), (0.0, slope), kind=kind)
    return Roof(planes=(plane,), edges=(), openings=())


def porch_house() -> Roof:
    """Give a 6:12 gable, 12 by 8 m, with a 1:12 porch, 6 by 2 m, on its south eave."""
    planes = (
        make_plane("main.south", (0, 0, 12, 4), (0.0, 0.5)),
        make_plane("main.north", (0, 4, 12, 8), (0.0, -0.5), offset=7.0),
        make_plane("porch.south", (3, -2, 9, 0), (0.0, 1 / 12)),
    )
    low = 3 - 2 / 12
    edges = (
        make_edge("main.eave", Role.EAVE, ((0, 0, 3), (3, 0, 3)), "main.south"),
        make_edge("main.eave_2", Role.EAVE, ((9, 0, 3), (12, 0, 3)), "main.south"),
        make_edge("main.eave_3", Role.EAVE, ((0, 8, 3), (12, 8, 3)), "main.north"),
        make_edge("main.ridge", Role.RIDGE, ((0, 4, 5), (12, 4, 5)), "main.south", "main.north"),
        make_edge("main.rake", Role.RAKE, ((0, 0, 3), (0, 4, 5)), "main.south"),
        make_edge("main.rake_2", Role.RAKE, ((12, 0, 3), (12, 4, 5)), "main.south"),
        make_edge("main.rake_3", Role.RAKE, ((0, 8, 3), (0, 4, 5)), "main.north"),
        make_edge("main.rake_4", Role.RAKE, ((12, 8, 3), (12, 4, 5)), "main.north"),
        make_edge(
            "porch.transition", Role.TRANSITION, ((3, 0, 3), (9, 0, 3)), "main.south", "porch.south"
        ),
        make_edge("porch.eave", Role.EAVE, ((3, -2, low), (9, -2, low)), "porch.south"),
        make_edge("porch.rake", Role.RAKE, ((3, -2, low), (3, 0, 3)), "porch.south"),
        make_edge("porch.rake_2", Role.RAKE, ((9, -2, low), (9, 0, 3)), "porch.south"),
    )
    return Roof(planes=planes, edges=edges, openings=())


def make_section(section_id: str, *, assembly: str = "") -> SectionSpec:
    return SectionSpec(
        id=section_id,
        form=Form.GABLE,
        length=12.0,
        width=8.0,
        at=(0.0, 0.0),
        turn=0.0,
        eave=3.0,
        ridge=5.0,
        pitch=0.5,
        pitch_back=0.5,
        lower_pitch=0.0,
        break_in=0.0,
        overhang=OverhangSpec(eave=0.0, rake=0.0),
        base=0.0,
        open=False,
        assembly=assembly,
    )


def make_spec(
    *,
    sections: Sequence[SectionSpec] = (),
    planes: Sequence[tuple[str, str]] = (),
    cutoff: float = CUTOFF,
    units: Units = Units.IMPERIAL,
    low: str = "",
    steep: str = "",
    site: SiteSpec = SiteSpec(),
) -> RoofSpec:
    """Give a model; only what the rules read of it matters here."""
    return RoofSpec(
        version=1,
        name="Pear Tree Corner",
        units=units,
        rules=RuleSpec(low_slope_cutoff=cutoff, low_assembly=low, steep_assembly=steep),
        sections=tuple(sections) or (make_section("main"), make_section("porch")),
        openings=(),
        planes=tuple(PlaneSpec(id=plane, assembly=assembly) for plane, assembly in planes),
        site=site,
    )
