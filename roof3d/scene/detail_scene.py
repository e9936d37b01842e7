"""A layered detail as a scene: its pieces, lifted or at rest, with trails, labels, dimensions."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np

from roof3d.details.build import build_detail as build_at
from roof3d.details.build import build_wrong as build_wrong_at
from roof3d.details.build import offered, offered_mistakes
from roof3d.details.mistakes.model import Mistake, WrongBuild
from roof3d.details.model import INCH, Detail, Piece, PieceKind, size_text
from roof3d.details.options import DetailOptions
from roof3d.details.places import find_place, places
from roof3d.details.proof.model import DetailFault
from roof3d.details.proof.prove import choose_shown, prove_detail
from roof3d.details.site import DetailSite, Place
from roof3d.errors import LayoutError
from roof3d.layout.joint import joint_rule
from roof3d.project import Project
from roof3d.rules.cautions import cautions_for
from roof3d.scene.lifts import lift_words, shift
from roof3d.scene.model import Dimension, Label, Line, Part, PartKind, Point3, Scene
from roof3d.tolerance import DEFAULT
from roof3d.units import Units

DRAWN_THICKNESS = (4.0, 0.5 * INCH)
"""Factor on thickness, and least thickness in metres, by which details are drawn."""
SECTION_THICKNESS = (2.0, 0.25 * INCH)
"""The same for a section alone, which shows them larger."""
_KINDS = {
    PieceKind.FRAMING: PartKind.DECK,
    PieceKind.DECK: PartKind.DECK,
    PieceKind.WALL: PartKind.WALL,
    PieceKind.FASTENER: PartKind.FASTENER,
}
TRAIL, WATER = "trail", "water"
FAULT = "fault"
"""Last part of the subject of the label at which a wrong build lets water in."""
_LONGEST_NAME = 40
_AT_EDGE = DEFAULT.merge


def detail_places(project: Project) -> tuple[Place, ...]:
    """Return every place of a project whose detail can be built, transitions first."""
    assembly_of = {choice.plane: choice.assembly for choice in project.choices}
    return offered(places(project.roof, project.catalog, assembly_of, project.spec.layout))


def find_detail(project: Project, name: str | None = None) -> Place:
    """Return the place of a project called so; see ``find_place``.

    Raises
    ------
    LayoutError
        Where the roof has no such place, or none at all; the hint lists those there are.
    """
    return find_place(detail_places(project), name, where=project.spec.name)


def build_detail(
    project: Project,
    place: str | None = None,
    *,
    exaggerate: float = DRAWN_THICKNESS[0],
    least_thickness: float = DRAWN_THICKNESS[1],
    options: DetailOptions | None = None,
    mistake: Mistake | str | None = None,
) -> Detail:
    """Build the layers of a place of a project.

    Parameters
    ----------
    project : Project
    place : str or None
        Id of an edge, opening or plane, or a kind of detail; None for the first.
    exaggerate : float
        Factor on the thickness of everything but wood; 1 is true.
    least_thickness : float
        Least thickness of the same, metres; 0 for none.
    options : DetailOptions or None
        Lengths; its own thicknesses are not used.
    mistake : Mistake or str or None
        Built wrong on purpose: one of ``detail_mistakes``.

    Raises
    ------
    LayoutError
        Where the place is unknown, or what lies on its planes is not what the detail is
        drawn for, or the mistake is unknown or cannot be made there.
    """
    site = _site(project, place, exaggerate, least_thickness, options)
    return build_at(site, None if not mistake else _find_mistake(mistake, site))


def build_wrong(
    project: Project, place: str, mistake: Mistake
) -> tuple[Detail, tuple[DetailFault, ...]]:
    """Build a place of a project wrong on purpose, with all that the proof finds.

    Raises
    ------
    LayoutError
        As ``build_detail``.
    """
    return build_wrong_at(_site(project, place, *DRAWN_THICKNESS, None), mistake)


def _find_mistake(name: str, site: DetailSite) -> Mistake:
    """Return the mistake called so; where there is none the hint lists those of the joint."""
    try:
        return Mistake(name)
    except ValueError:
        own = ", ".join(wrong.mistake for wrong in offered_mistakes(site)) or "none"
        raise LayoutError(
            f"'{name}' is no known mistake",
            where=site.place.id,
            hint=f"mistakes of this joint: {own}",
        ) from None


def detail_mistakes(project: Project, place: str | None = None) -> tuple[WrongBuild, ...]:
    """Return the wrong builds that a place of a project can be shown with."""
    return offered_mistakes(_site(project, place, *DRAWN_THICKNESS, None))


def _site(
    project: Project,
    place: str | None,
    exaggerate: float,
    least_thickness: float,
    options: DetailOptions | None,
) -> DetailSite:
    return DetailSite(
        place=find_detail(project, place),
        roof=project.roof,
        layout=project.layout,
        catalog=project.catalog,
        assembly_of={choice.plane: choice.assembly for choice in project.choices},
        units=Units(project.spec.units.value),
        options=replace(
            options or DetailOptions(joint=joint_rule(project.spec.layout.membrane_rise)),
            thickness_factor=exaggerate,
            least_thickness=least_thickness,
        ),
    )


def build_detail_scene(
    project: Project,
    place: str | None = None,
    *,
    lift: float = 0.0,
    exaggerate: float = DRAWN_THICKNESS[0],
    least_thickness: float = DRAWN_THICKNESS[1],
) -> Scene:
    """Turn the detail of a place of a project into a scene.

    Parameters
    ----------
    project : Project
    place : str or None
        As ``build_detail`` takes it.
    lift : float
        Metres from layer to layer; 0 leaves all where it belongs.
    exaggerate, least_thickness : float
        As ``build_detail`` takes them.

    Returns
    -------
    Scene
        One part a piece, id ``place.layer.piece``, a closed solid with its layer number and
        the direction of its lift. One label a layer, in the order of work. Lengths on the
        slopes are true. With a lift, dashed trails from the deck to the top.

    Raises
    ------
    LayoutError
        As ``build_detail``.
    """
    detail = build_detail(project, place, exaggerate=exaggerate, least_thickness=least_thickness)
    return scene_of(detail, project, lift=lift)


def scene_of(
    detail: Detail, project: Project, *, lift: float = 0.0, shown: str | None = None
) -> Scene:
    """Turn a built detail into a scene; see ``build_detail_scene``.

    ``shown`` says in a sentence how the layers are shown, in place of how they are lifted.
    """
    choices = [choice for choice in project.choices if choice.plane in detail.planes]
    fault = fault_of(detail, project)
    water = () if fault is None else _water(detail, fault, lift)
    units = Units(project.spec.units.value)
    return Scene(
        title=title_words(detail, "layer by layer"),
        subtitle=f"{_short_name(project.spec.name)}, {detail.id}: {detail.summary}. "
        f"{mistake_words(detail)}{shown or lift_words(detail, lift)} "
        f"{thickness_words(detail, units)}",
        parts=tuple(_part(piece, detail, lift) for piece in detail.pieces),
        lines=(*(_trails(detail, lift) if lift > 0.0 else ()), *water),
        labels=tuple(
            Label(
                anchor=_anchor(detail, layer.number, lift),
                lines=(layer.name, layer.size, layer.why, layer.fastening, layer.source),
                subject=f"{detail.id}.{layer.number}",
            )
            for layer in detail.layers
        )
        + (() if fault is None else (_fault_label(detail, fault, lift),)),
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


def title_words(detail: Detail, shown: str) -> str:
    """Return the title of a detail; of a wrong build it says so first."""
    if detail.mistake is None:
        return f"{detail.name}, {shown}"
    return f"WRONG BUILD: {detail.mistake.title.lower()}. {detail.name}"


def mistake_words(detail: Detail) -> str:
    """Say what is built wrong and what the water does; empty for a right build."""
    wrong = detail.mistake
    if wrong is None:
        return ""
    # Its sentence may begin with "it": here nothing above it says what is meant.
    return f"{wrong.wrong} The water: {wrong.water[0].lower()}{wrong.water[1:]} "


def fault_of(detail: Detail, project: Project) -> DetailFault | None:
    """Return the fault that a wrong build is shown for; None of a right one."""
    if detail.mistake is None:
        return None
    return choose_shown(detail, prove_detail(detail, project.catalog))


def _water(detail: Detail, fault: DetailFault, lift: float) -> tuple[Line, ...]:
    """Return the way of the water as straight lines from point to point, each on its layer."""
    points = [_moved(mark.point, _shift_at(detail, mark.layer, lift)) for mark in fault.path]
    return tuple(
        Line(id=f"{detail.id}.{WATER}_{number}", style=WATER, ends=ends)
        for number, ends in enumerate(pairwise(points), start=1)
    )


def _shift_at(detail: Detail, layer: int, lift: float) -> Point3:
    return shift(detail, layer if any(p.layer == layer for p in detail.pieces) else 1, lift)


def _fault_label(detail: Detail, fault: DetailFault, lift: float) -> Label:
    """Return the place where the water goes in, on the layer that brings it there."""
    # Down a plumb face all places have one spot on the deck: there the head itself is marked.
    upright = fault.at in {mark.point for mark in fault.path}
    spot = fault.at if upright else detail.frame.point(*fault.spot, 0.0)
    at = min(reversed(fault.path), key=lambda mark: math.dist(mark.point, spot))
    return Label(
        anchor=_moved(at.point, _shift_at(detail, at.layer, lift)),
        lines=(detail.mistake.title if detail.mistake else "", fault.words),
        subject=f"{detail.id}.{FAULT}",
    )


def _short_name(name: str) -> str:
    """Return the name of a model, cut off where it would fill the lines under the title."""
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1].rstrip()}\u2026"


def thickness_words(detail: Detail, units: Units) -> str:
    """Say in one sentence how thickness is drawn."""
    factor, least = detail.thickness
    if factor == 1.0 and least == 0.0:
        return "Everything true to size."
    floor = f", at least {size_text(least, units)}" if least > 0.0 else ""
    return f"Lengths true; sheets drawn {factor:g} times as thick{floor}."


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
    for name, at in (("near", -detail.size[1]), ("far", detail.size[2])):
        over = [
            piece
            for piece in detail.pieces
            if piece.reach[0] - _AT_EDGE <= at <= piece.reach[1] + _AT_EDGE
            and piece.kind is not PieceKind.FASTENER
        ]
        if not over:
            continue
        top = max(over, key=lambda piece: piece.layer)
        for side, u in (("left", -across), ("right", across)):
            foot = detail.frame.point(u, at, 0.0)
            head = _moved(foot, shift(detail, top.layer, lift))
            lines.append(Line(id=f"{detail.id}.{name}_{side}", style=TRAIL, ends=(foot, head)))
    return tuple(lines)


def _moved(point: Point3, by: Point3) -> Point3:
    return (point[0] + by[0], point[1] + by[1], point[2] + by[2])
