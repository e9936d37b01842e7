"""The joint of a low and a steep plane, cut out of a roof at its real pitches."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from roof3d.catalog.model import Assembly, Catalog
from roof3d.details.build_up import BuildUp, JointMaterials
from roof3d.details.deck import lay_deck
from roof3d.details.high_deck import lay_low_above_steep
from roof3d.details.model import PRACTICE, Detail, Floats, Frame, Piece, Point3
from roof3d.details.options import TransitionOptions
from roof3d.details.porch import lay_low_below_steep
from roof3d.errors import LayoutError
from roof3d.layout.joint import membrane_rise
from roof3d.roof.model import Edge, Kind, Plane, Role, Roof
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units

_ROLES = {
    "membrane": ("deck", "base", "ply", "cap"),
    "shingle": ("deck", "underlayment", "starter", "shingles"),
}
_SHARP_TURN = math.pi / 4.0
"""From this angle between the planes on, sheets do not lie well in a plain bend."""


def build_transition(
    roof: Roof,
    edge: Edge,
    catalog: Catalog,
    assembly_of: Mapping[str, str],
    *,
    options: TransitionOptions | None = None,
    units: Units = Units.IMPERIAL,
    tol: Tolerance = DEFAULT,
) -> Detail:
    """Build the layers of a low-to-steep transition where it lies on the roof.

    Parameters
    ----------
    roof : Roof
    edge : Edge
        A transition of that roof; it may slope, and either plane may lie above.
    catalog : Catalog
    assembly_of : Mapping[str, str]
        Assembly id by plane id, for the two planes at least.
    options : TransitionOptions or None
        None for the defaults.
    units : Units
        For the words.
    tol : Tolerance

    Returns
    -------
    Detail
        In the roof's own coordinates; lengths on the slopes are true whatever the drawn
        thickness, each upper piece lies on what is below it without dipping into it.

    Raises
    ------
    LayoutError
        Where the edge is no transition, or the assemblies are not a membrane on the low
        and shingles on the steep plane.
    """
    options = TransitionOptions() if options is None else options
    if edge.role is not Role.TRANSITION or len(edge.planes) != 2:
        raise LayoutError(
            f"is a {edge.role.value.replace('_', ' ')}, no transition", where=f"edges[{edge.id}]"
        )
    one, two = (roof.plane(name) for name in edge.planes)
    low, steep = (one, two) if one.kind is Kind.LOW else (two, one)
    materials = _materials(catalog, (low, steep), assembly_of)
    frame = _frame(edge, low, steep)
    convex = _dot(frame.low, frame.steep_normal) < 0.0
    size = _size(edge, (low, steep), frame, options, convex=convex, tol=tol)
    work = BuildUp(
        frame=frame,
        catalog=catalog,
        options=options,
        units=units,
        size=size,
        convex=convex,
        tol=tol,
    )
    deck = lay_deck(work, materials.deck)
    lay_joint = lay_low_above_steep if convex else lay_low_below_steep
    layers, notes = lay_joint(work, materials, low.slope)
    return Detail(
        id=edge.id,
        name="Low slope above steep slope" if convex else "Low slope below steep slope",
        convex=convex,
        planes=(low.id, steep.id),
        frame=frame,
        size=size,
        slopes=(low.slope, steep.slope),
        layers=tuple(
            layer
            for layer in (deck, *layers)
            if any(piece.layer == layer.number for piece in work.pieces)
        ),
        pieces=_with_lifts(work),
        measures=tuple(work.measures),
        notes=(
            *_slope_note(frame, tol),
            *_bend_note(frame, convex=convex, tol=tol),
            *_attachment_note(steep, catalog.assembly(assembly_of[steep.id])),
            *notes,
        ),
        thickness=(options.thickness_factor, options.least_thickness),
        uses_heat=any(catalog.assembly(assembly_of[plane.id]).uses_heat for plane in (low, steep)),
    )


def _size(
    edge: Edge,
    planes: tuple[Plane, Plane],
    frame: Frame,
    options: TransitionOptions,
    *,
    convex: bool,
    tol: Tolerance,
) -> tuple[float, float, float]:
    """Size of the cut-out along the break, onto the low and the steep plane: what there is."""
    rise = 0.0 if convex else membrane_rise(frame.steep[2], options.joint)
    run = options.steep_run.metres if convex else rise + options.steep_margin.metres
    low, steep = planes
    return (
        min(options.width.metres, edge.length),
        min(options.low_run.metres, _room(low, edge, frame.low, tol)),
        min(run, _room(steep, edge, frame.steep, tol)),
    )


def _with_lifts(work: BuildUp) -> tuple[Piece, ...]:
    """Give each piece the direction of its layer's lift.

    Where the planes bend away from each other every layer is lifted square to its own
    deck. Where they bend toward each other that would swing the steep layers in front of
    the rest, so all are lifted square to the low deck: they clear one another, because
    that direction leaves both decks.
    """
    numbers = {piece.layer for piece in work.pieces}
    steep = {
        number
        for number in numbers
        if work.convex and all(p.reach[0] >= 0.0 for p in work.pieces if p.layer == number)
    }
    frame = work.frame
    return tuple(
        replace(p, lift=frame.steep_normal if p.layer in steep else frame.low_normal)
        for p in work.pieces
    )


def _slope_note(frame: Frame, tol: Tolerance) -> tuple[str, ...]:
    if abs(frame.along[2]) <= tol.level:
        return ()
    angle = math.degrees(math.asin(abs(frame.along[2])))
    return (f"The break itself slopes {angle:.1f} deg; lengths and the section are square to it.",)


def _bend_note(frame: Frame, *, convex: bool, tol: Tolerance) -> tuple[str, ...]:
    """Ask for a gentler bend where sheets would have to turn sharply."""
    turn = math.acos(max(-1.0, min(1.0, _dot(frame.low_normal, frame.steep_normal))))
    if turn < _SHARP_TURN - tol.slope:
        return ()
    eased = "a rounded edge" if convex else "a cant strip or an eased bend"
    return (f"The break turns by {math.degrees(turn):.0f} deg: {eased} is usual ({PRACTICE}).",)


def _attachment_note(steep: Plane, assembly: Assembly) -> tuple[str, ...]:
    if steep.slope <= assembly.special_attachment_above:
        return ()
    source = assembly.special_attachment_source
    return (f"Shingles this steep need cement dabs under each, besides the nails ({source}).",)


def _materials(
    catalog: Catalog, planes: tuple[Plane, Plane], assembly_of: Mapping[str, str]
) -> JointMaterials:
    found: dict[str, str] = {}
    for plane, kind in zip(planes, ("membrane", "shingle"), strict=True):
        assembly: Assembly = catalog.assembly(assembly_of[plane.id])
        roles = {layer.role: layer.material for layer in assembly.layers_at(plane.slope)}
        missing = [role for role in _ROLES[kind] if role not in roles]
        if assembly.kind != kind or missing:
            raise LayoutError(
                f"carries {assembly.id!r}; this joint is drawn for a {kind} with the layers "
                + ", ".join(_ROLES[kind]),
                where=f"planes[{plane.id}]",
                hint=f"give the plane a {kind} assembly",
            )
        found |= {role: name for role, name in roles.items() if role in _ROLES[kind]}
    return JointMaterials(**found)


def _frame(edge: Edge, low: Plane, steep: Plane) -> Frame:
    """Axes of the joint: along the break, and square to it in each plane."""
    start, end = (np.array(point) for point in edge.ends)
    along = (end - start) / np.linalg.norm(end - start)
    n_low, n_steep = np.array(low.normal), np.array(steep.normal)
    into_low, into_steep = (
        _into(plane, normal, along, (start + end) / 2.0)
        for plane, normal in ((low, n_low), (steep, n_steep))
    )
    upright = np.array((0.0, 0.0, 1.0)) - along[2] * along
    upright /= np.linalg.norm(upright)
    level = np.cross(upright, along)
    if level @ (into_steep - into_low) < 0.0:
        along, level = -along, -level
    half = n_low + n_steep
    return Frame(
        origin=_point((start + end) / 2.0),
        along=_point(along),
        low=_point(into_low),
        steep=_point(into_steep),
        low_normal=_point(n_low),
        steep_normal=_point(n_steep),
        mitre=_point(half / (1.0 + n_low @ n_steep)),
        level=_point(level),
        upright=_point(upright),
    )


def _into(plane: Plane, normal: Floats, along: Floats, middle: Floats) -> Floats:
    """Return the unit vector in a plane, square to its edge, toward where the plane lies.

    The interior is to the left of an outline that runs counterclockwise, so the side of
    the outline that the middle of the edge lies on tells the way.
    """
    across: Floats = np.cross(normal, along)
    ring = np.array(plane.outline)
    sides = np.roll(ring, -1, axis=0) - ring
    lengths = np.linalg.norm(sides[:, :2], axis=1)
    away = middle - ring
    share = np.clip(np.sum(away[:, :2] * sides[:, :2], axis=1) / lengths**2, 0.0, 1.0)
    gaps = np.linalg.norm((away - share[:, None] * sides)[:, :2], axis=1)
    nearest = int(np.argmin(gaps))
    return across if sides[nearest] @ along > 0.0 else -across


def _room(plane: Plane, edge: Edge, into: Point3, tol: Tolerance) -> float:
    """How far a plane reaches from the middle of its edge, square to it, along the slope."""
    middle = [(a + b) / 2.0 for a, b in zip(*edge.ends, strict=True)]
    reach = math.inf
    ring = plane.outline
    for (ax, ay, _), (bx, by, _) in zip(ring, (*ring[1:], ring[0]), strict=True):
        sx, sy = bx - ax, by - ay
        turn = into[0] * sy - into[1] * sx
        if abs(turn) <= tol.direction:
            continue
        away = ((ax - middle[0]) * sy - (ay - middle[1]) * sx) / turn
        share = ((ax - middle[0]) * into[1] - (ay - middle[1]) * into[0]) / turn
        if away > tol.merge and 0.0 <= share <= 1.0:
            reach = min(reach, away)
    return reach


def _dot(one: Point3, two: Point3) -> float:
    return sum(a * b for a, b in zip(one, two, strict=True))


def _point(values: Floats) -> Point3:
    return (float(values[0]), float(values[1]), float(values[2]))
