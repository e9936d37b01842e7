"""A layered detail as a scene: its pieces, lifted or at rest, with trails, labels, dimensions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from roof3d.details.model import INCH, Detail, Piece, PieceKind, size_text
from roof3d.details.options import TransitionOptions
from roof3d.details.transition import build_transition
from roof3d.errors import LayoutError
from roof3d.project import Project
from roof3d.roof.model import Role
from roof3d.rules.cautions import cautions_for
from roof3d.scene.model import Dimension, Label, Line, Part, PartKind, Point3, Scene
from roof3d.units import Units, format_pitch

DRAWN_THICKNESS = (4.0, 0.5 * INCH)
"""Factor on thickness, and least thickness in metres, by which details are drawn."""
_KINDS = {
    PieceKind.FRAMING: PartKind.DECK,
    PieceKind.DECK: PartKind.DECK,
    PieceKind.FASTENER: PartKind.FASTENER,
}
TRAIL = "trail"
_LONGEST_NAME = 40
_STEPS = {PieceKind.BED: 0.45, PieceKind.SHINGLE: 1.4}
"""Share of the lift by which a layer of that kind alone stands off the one below; else 1."""
_OFF_BED = 1.3


def find_transition(project: Project, edge_id: str | None) -> str:
    """Return the id of a transition: the one named, the first of a plane named, or the first.

    Raises
    ------
    LayoutError
        Where the roof has no transition, or none of that name; the hint lists them.
    """
    edges = [edge for edge in project.roof.edges if edge.role is Role.TRANSITION]
    known = [edge.id for edge in edges]
    if not known:
        raise LayoutError(
            "this roof has no place where a low plane meets a steep one",
            where=project.spec.name,
            hint="draw the whole roof instead",
            code="R3D-NO-TRANSITION",
        )
    if edge_id is None:
        return known[0]
    of_plane = [edge.id for edge in edges if edge_id in edge.planes]
    if edge_id not in known and of_plane:
        return of_plane[0]
    if edge_id not in known:
        raise LayoutError(
            f"there is no transition {edge_id!r}",
            where=project.spec.name,
            hint=f"allowed: {', '.join(known)}",
            code="R3D-UNKNOWN-PLACE",
        )
    return edge_id


def build_detail(
    project: Project,
    edge_id: str | None = None,
    *,
    exaggerate: float = DRAWN_THICKNESS[0],
    least_thickness: float = DRAWN_THICKNESS[1],
    options: TransitionOptions | None = None,
) -> Detail:
    """Build the layers of a transition of a project.

    Parameters
    ----------
    project : Project
    edge_id : str or None
        A transition; None for the first.
    exaggerate : float
        Factor on the thickness of everything but wood; 1 is true.
    least_thickness : float
        Least thickness of the same, metres; 0 for none.
    options : TransitionOptions or None
        Lengths; its own thicknesses are not used.

    Raises
    ------
    LayoutError
        Where the place is unknown, or its planes carry other assemblies than a membrane
        and shingles.
    """
    edge = project.roof.edge(find_transition(project, edge_id))
    return build_transition(
        project.roof,
        edge,
        project.catalog,
        {name: project.assembly_of(name) for name in edge.planes},
        options=replace(
            options or TransitionOptions(),
            thickness_factor=exaggerate,
            least_thickness=least_thickness,
        ),
        units=Units(project.spec.units.value),
    )


def build_detail_scene(
    project: Project,
    edge_id: str | None = None,
    *,
    lift: float = 0.0,
    exaggerate: float = DRAWN_THICKNESS[0],
    least_thickness: float = DRAWN_THICKNESS[1],
) -> Scene:
    """Turn a transition of a project into a scene.

    Parameters
    ----------
    project : Project
    edge_id : str or None
        A transition; None for the first.
    lift : float
        Metres from layer to layer; 0 leaves all where it belongs.
    exaggerate, least_thickness : float
        As ``build_detail`` takes them.

    Returns
    -------
    Scene
        One part a piece, id ``edge.layer.piece``, a closed solid with its layer number and
        the direction of its lift. One label a layer, in the order of work. Lengths on the
        slopes are true. With a lift, dashed trails from the deck to the top.

    Raises
    ------
    LayoutError
        As ``build_detail``.
    """
    detail = build_detail(project, edge_id, exaggerate=exaggerate, least_thickness=least_thickness)
    return scene_of(detail, project, lift=lift)


def scene_of(detail: Detail, project: Project, *, lift: float = 0.0) -> Scene:
    """Turn a built detail of a project into a scene; see ``build_detail_scene``."""
    edge = project.roof.edge(detail.id)
    choices = [choice for choice in project.choices if choice.plane in edge.planes]
    units = Units(project.spec.units.value)
    low, steep = (
        pitch_words(slope, units)
        + (f" ({math.degrees(math.atan(slope)):.0f} deg)" if units is Units.IMPERIAL else "")
        for slope in detail.slopes
    )
    order = f"{low} above {steep}" if detail.convex else f"{low} below {steep}"
    return Scene(
        title=f"{detail.name}, layer by layer",
        subtitle=f"{_short_name(project.spec.name)}, {detail.id}: {order}. "
        f"{lift_words(detail, lift)} {thickness_words(detail, units)}",
        parts=tuple(_part(piece, detail, lift) for piece in detail.pieces),
        lines=_trails(detail, lift) if lift > 0.0 else (),
        labels=tuple(
            Label(
                anchor=_anchor(detail, layer.number, lift),
                lines=(layer.name, layer.size, layer.why, layer.fastening, layer.source),
                subject=f"{detail.id}.{layer.number}",
            )
            for layer in detail.layers
        ),
        dimensions=tuple(
            Dimension(
                id=f"{detail.id}.{measure.id}",
                ends=(
                    _moved(measure.ends[0], shift(detail, measure.layer, lift)),
                    _moved(measure.ends[1], shift(detail, measure.layer, lift)),
                ),
                text=measure.text,
            )
            for measure in detail.measures
        ),
        cautions=cautions_for(choices, project.catalog),
    )


def pitch_words(slope: float, units: Units) -> str:
    """Say how steep a plane is: rise over run, or on a metric sheet degrees."""
    if units is Units.METRIC:
        return f"{round(math.degrees(math.atan(slope)), 1):g} deg"
    return format_pitch(slope)


def _short_name(name: str) -> str:
    """Return the name of a model, cut off where it would fill the lines under the title."""
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1].rstrip()}\u2026"


def lift_words(detail: Detail, lift: float) -> str:
    """Say in one sentence how the layers were lifted."""
    if lift <= 0.0:
        return "Layers where they belong."
    if detail.convex:
        return (
            "Layers that reach the low deck lifted square to it, those of the steep face square "
            "to that."
        )
    bend = _bend_deg(detail)
    return (
        f"All layers lifted square to the low deck ({bend:.0f} deg off square to the steep one, "
        "so that none swings in front of another)."
    )


def thickness_words(detail: Detail, units: Units) -> str:
    """Say in one sentence how thickness is drawn."""
    factor, least = detail.thickness
    if factor == 1.0 and least == 0.0:
        return "Everything true to size."
    floor = f", at least {size_text(least, units)}" if least > 0.0 else ""
    return f"Lengths true; sheets drawn {factor:g} times as thick{floor}."


def shift(detail: Detail, layer: int, lift: float) -> Point3:
    """Return how far a layer is moved by a lift, metres."""
    piece = next(piece for piece in detail.pieces if piece.layer == layer)
    numbers = [other.number for other in detail.layers if 1 < other.number <= layer]
    away = lift * sum(_step(detail, number, piece.lift) for number in numbers)
    return (away * piece.lift[0], away * piece.lift[1], away * piece.lift[2])


def _step(detail: Detail, layer: int, direction: Point3) -> float:
    """Share of the lift that a layer adds to what is lifted that way."""
    pieces = [piece for piece in detail.pieces if piece.layer == layer]
    if pieces[0].lift != direction:
        return 0.0
    kinds = {piece.kind for piece in pieces}
    if len(kinds) == 1 and kinds <= _STEPS.keys():
        return _STEPS[kinds.pop()]
    below = {piece.kind for piece in detail.pieces if piece.layer == layer - 1}
    return _OFF_BED if below == {PieceKind.BED} else 1.0


def _bend_deg(detail: Detail) -> float:
    one, two = detail.frame.low_normal, detail.frame.steep_normal
    return math.degrees(math.acos(min(1.0, sum(a * b for a, b in zip(one, two, strict=True)))))


def _part(piece: Piece, detail: Detail, lift: float) -> Part:
    move = np.array(shift(detail, piece.layer, lift))
    arrays = [piece.vertices + move, *(rim + move for rim in piece.rims)]
    for array in arrays:
        array.setflags(write=False)
    return Part(
        id=f"{detail.id}.{piece.layer}.{piece.id}",
        name=piece.name,
        kind=_KINDS.get(piece.kind, PartKind.LAYER),
        material=piece.material,
        vertices=arrays[0],
        triangles=piece.triangles,
        rims=tuple(arrays[1:]),
        layer=piece.layer,
        lift=piece.lift,
    )


def _anchor(detail: Detail, layer: int, lift: float) -> Point3:
    """Middle of the top of a layer's main piece."""
    pieces = [p for p in detail.pieces if p.layer == layer and p.kind is not PieceKind.FASTENER]
    piece = max(pieces, key=lambda p: (p.kind is not PieceKind.FRAMING, p.reach[1] - p.reach[0]))
    middle = piece.vertices.mean(axis=0) + np.array(shift(detail, layer, lift))
    return (float(middle[0]), float(middle[1]), float(middle[2]))


def _trails(detail: Detail, lift: float) -> tuple[Line, ...]:
    """From each corner of the deck up to the highest layer over it, and on the same way."""
    lines = []
    across = detail.size[0] / 2.0
    for name, at in (("low", -detail.size[1]), ("steep", detail.size[2])):
        over = [
            piece
            for piece in detail.pieces
            if piece.reach[0] <= at <= piece.reach[1] and piece.kind is not PieceKind.FASTENER
        ]
        top = max(over, key=lambda piece: piece.layer)
        for side, u in (("left", -across), ("right", across)):
            foot = detail.frame.point(u, at, 0.0)
            head = _moved(foot, shift(detail, top.layer, lift))
            lines.append(Line(id=f"{detail.id}.{name}_{side}", style=TRAIL, ends=(foot, head)))
    return tuple(lines)


def _moved(point: Point3, by: Point3) -> Point3:
    return (point[0] + by[0], point[1] + by[1], point[2] + by[2])
