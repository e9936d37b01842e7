"""The joint of a low and a steep plane, cut out of a roof at its real pitches."""

from __future__ import annotations

import math
from dataclasses import replace

from roof3d.catalog.model import Assembly
from roof3d.details.deck import lay_deck
from roof3d.details.frame import Frame
from roof3d.details.frames import frame_at_break, room_on
from roof3d.details.model import Detail
from roof3d.details.options import TransitionOptions, transition_options
from roof3d.details.site import DetailSite, bend_note, close_build, open_build, slope_words
from roof3d.details.transitions.high_deck import lay_low_above_steep
from roof3d.details.transitions.materials import JointMaterials
from roof3d.details.transitions.porch import lay_low_below_steep
from roof3d.errors import LayoutError
from roof3d.layout.joint import membrane_rise
from roof3d.roof.model import Edge, Plane, Role
from roof3d.tolerance import DEFAULT, Tolerance

_ROLES = {
    "membrane": ("deck", "cap"),
    "shingle": ("deck", "underlayment", "starter", "shingles"),
}
"""Layers without which the joint cannot be drawn; a membrane may have base and ply, too."""
_MAY_HAVE = {"membrane": ("base", "ply"), "shingle": ()}
_SHARP_TURN = math.pi / 4.0
"""From this angle between the planes on, sheets do not lie well in a plain bend."""


def build_transition(site: DetailSite, *, tol: Tolerance = DEFAULT) -> Detail:
    """Build the layers of a low-to-steep transition where it lies on the roof.

    Parameters
    ----------
    site : DetailSite
        Of a transition; it may slope, and either plane may lie above. Its place names the
        low plane first.
    tol : Tolerance

    Raises
    ------
    LayoutError
        Where the edge is no transition, or the assemblies are not a membrane on the low
        and shingles on the steep plane; it names the layers that are missing.
    """
    options = transition_options(site.options)
    site = replace(site, options=options)
    edge = site.roof.edge(site.place.edge)
    if edge.role is not Role.TRANSITION or len(edge.planes) != 2:
        raise LayoutError(
            f"is a {edge.role.value.replace('_', ' ')}, no transition", where=f"edges[{edge.id}]"
        )
    low, steep = (site.roof.plane(name) for name in site.place.planes)
    materials = _materials(site, (low, steep))
    frame = frame_at_break(edge.ends, low, steep)
    size = _size(edge, (low, steep), frame, options, tol=tol)
    work = open_build(site, frame, size, tol=tol)
    deck = lay_deck(work, materials.deck)
    lay_joint = lay_low_above_steep if frame.convex else lay_low_below_steep
    layers, notes = lay_joint(site, work, materials, options)
    gentle, sharp = (slope_words(plane.slope, site.units) for plane in (low, steep))
    return close_build(
        site,
        work,
        name="Low slope above steep slope" if frame.convex else "Low slope below steep slope",
        summary=f"{gentle} {'above' if frame.convex else 'below'} {sharp}",
        layers=(deck, *layers),
        notes=(
            *bend_note(frame, _SHARP_TURN, tol=tol),
            *_attachment_note(steep, site.assembly(steep.id)),
            *notes,
        ),
        tol=tol,
    )


def _size(
    edge: Edge,
    planes: tuple[Plane, Plane],
    frame: Frame,
    options: TransitionOptions,
    *,
    tol: Tolerance,
) -> tuple[float, float, float]:
    """Size of the cut-out along the break, onto the low and the steep plane: what there is."""
    rise = 0.0 if frame.convex else membrane_rise(frame.far[2], options.joint)
    run = options.steep_run.metres if frame.convex else rise + options.steep_margin.metres
    low, steep = planes
    return (
        min(options.width.metres, edge.length),
        min(options.low_run.metres, room_on(low, frame.origin, frame.near, tol=tol)),
        min(run, room_on(steep, frame.origin, frame.far, tol=tol)),
    )


def _attachment_note(steep: Plane, assembly: Assembly) -> tuple[str, ...]:
    if steep.slope <= assembly.special_attachment_above:
        return ()
    source = assembly.special_attachment_source
    return (f"Shingles this steep need cement dabs under each, besides the nails ({source}).",)


def _materials(site: DetailSite, planes: tuple[Plane, Plane]) -> JointMaterials:
    found: dict[str, str] = {}
    for plane, kind in zip(planes, ("membrane", "shingle"), strict=True):
        assembly = site.assembly(plane.id)
        roles = {layer.role: layer.material for layer in assembly.layers_at(plane.slope)}
        missing = [role for role in _ROLES[kind] if role not in roles]
        if assembly.kind != kind or missing:
            lacks = f", without {' and '.join(missing)}" if missing else ""
            raise LayoutError(
                f"carries {assembly.id!r}{lacks}; this joint is drawn for a {kind} with the layers "
                + ", ".join(_ROLES[kind]),
                where=f"planes[{plane.id}]",
                hint=f"give the plane a {kind} assembly",
            )
        known = (*_ROLES[kind], *_MAY_HAVE[kind])
        found |= {role: name for role, name in roles.items() if role in known}
    return JointMaterials(**found)
