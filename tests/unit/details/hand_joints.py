"""Two planes and the break between them, written down by hand, at any slopes and direction."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from roof3d.catalog.load import load_catalog
from roof3d.details.model import Detail, DetailKind
from roof3d.details.options import TransitionOptions
from roof3d.details.site import DetailSite, Place
from roof3d.details.transitions.transition import build_transition
from roof3d.layout.model import Layout
from roof3d.roof.model import Edge, Kind, Plane, Point3, Role, Roof

Gradient = tuple[float, float]
INCH = 0.0254
ASSEMBLIES = {"low": "self-adhered-membrane", "steep": "laminated-shingle"}


def hand_joint(
    low: Gradient,
    steep: Gradient,
    *,
    convex: bool = False,
    at: Point3 = (3.0, 4.0, 5.0),
    length: float = 4.0,
    depth: float = 4.0,
) -> tuple[Roof, Edge]:
    """Break through ``at``; each plane a rectangle in plan, ``depth`` deep."""
    across = (steep[0] - low[0], steep[1] - low[1])
    size = math.hypot(*across)
    n = (across[0] / size, across[1] / size)
    d = (n[1], -n[0])

    def point(gradient: Gradient, along: float, away: float) -> Point3:
        dx, dy = along * d[0] + away * n[0], along * d[1] + away * n[1]
        return (at[0] + dx, at[1] + dy, at[2] + gradient[0] * dx + gradient[1] * dy)

    def plane(name: str, kind: Kind, gradient: Gradient, side: float) -> Plane:
        half = length / 2.0
        ring: Sequence[tuple[float, float]] = (
            ((half, 0.0), (-half, 0.0), (-half, -depth), (half, -depth))
            if side < 0.0
            else ((-half, 0.0), (half, 0.0), (half, depth), (-half, depth))
        )
        # d is n turned clockwise, so (d, n) is right-handed and these run counterclockwise.
        return Plane(
            id=name,
            section=name,
            kind=kind,
            gradient=gradient,
            offset=at[2] - gradient[0] * at[0] - gradient[1] * at[1],
            outline=tuple(point(gradient, u, v) for u, v in ring),
            holes=(),
            plan_area=length * depth,
            area=length * depth * math.hypot(1.0, *gradient),
            covered_plan_area=0.0,
        )

    steep_side = -1.0 if convex else 1.0
    planes = (
        plane("low", Kind.LOW, low, -steep_side),
        plane("steep", Kind.STEEP, steep, steep_side),
    )
    ends = sorted((point(low, -length / 2, 0.0), point(low, length / 2, 0.0)), key=lambda p: p[2])
    edge = Edge(
        id="low.transition",
        role=Role.TRANSITION,
        ends=(ends[0], ends[1]),
        planes=("low", "steep") if convex else ("steep", "low"),
        length=math.dist(*ends),
        plan_length=length,
        convex=convex,
    )
    return Roof(planes=planes, edges=(edge,), openings=()), edge


def hand_detail(
    low: Gradient,
    steep: Gradient,
    *,
    convex: bool = False,
    options: TransitionOptions | None = None,
    length: float = 4.0,
    depth: float = 4.0,
) -> Detail:
    roof, edge = hand_joint(low, steep, convex=convex, length=length, depth=depth)
    return build_transition(hand_site(roof, edge, options=options))


def hand_site(
    roof: Roof,
    edge: Edge,
    *,
    options: TransitionOptions | None = None,
    assemblies: Mapping[str, str] = MappingProxyType(ASSEMBLIES),
) -> DetailSite:
    """Site of a joint by hand; nothing is laid out, so details set out their own courses."""
    below = edge.planes[0] == "steep"
    return DetailSite(
        place=Place(
            kind=DetailKind.LOW_BELOW_STEEP if below else DetailKind.LOW_ABOVE_STEEP,
            id=edge.id,
            planes=("low", "steep"),
            words="",
            edge=edge.id,
        ),
        roof=roof,
        layout=Layout(planes=(), strips=(), findings=()),
        catalog=load_catalog(),
        assembly_of=assemblies,
        options=options or TransitionOptions(),
    )


def pitched(rise: float, turn_deg: float = 0.0) -> Gradient:
    """Give a gradient of ``rise`` in 12, uphill toward a direction from +y."""
    turn = math.radians(turn_deg)
    return (-math.sin(turn) * rise / 12.0, math.cos(turn) * rise / 12.0)
