"""From what the wavefront leaves behind to faces, and whether they are sound."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from roof3d.errors import InvariantError
from roof3d.geometry.groups import Groups
from roof3d.geometry.polygon import signed_area
from roof3d.geometry.rings import trace_rings
from roof3d.skeleton.outline import Outline
from roof3d.skeleton.place import Stuck
from roof3d.skeleton.stages import StagedWavefront
from roof3d.tolerance import Tolerance

Rings: TypeAlias = tuple[tuple[int, ...], ...]
"""The outer ring of a face, starting along its eave, and inner ones: numbers of nodes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofNet:
    """Nodes and faces of a whole roof, local coordinates.

    Attributes
    ----------
    nodes : list of (x, y, z)
        Metres; the corners of the outline come first.
    faces : list[Rings]
        Front by front: first edge by edge, then what their fronts changed to. Of the latter
        each ring counterclockwise is a piece of its own.
    deck : list of rings
        Where a cap cut the outline, the inside on the left.
    """

    nodes: list[tuple[float, float, float]]
    faces: list[Rings]
    deck: list[tuple[int, ...]]


def assemble_faces(wavefront: StagedWavefront, outline: Outline, *, tol: Tolerance) -> RoofNet:
    """Chain the arcs of every edge into the rings of its face.

    Raises
    ------
    Stuck
        If a face does not close.
    """
    nodes = [(float(x), float(y), float(t)) for x, y, t in wavefront.nodes]
    same = _merged(nodes, wavefront.arcs, tol)
    faces = []
    first = 0
    for ring in outline.whole:
        count = len(ring)
        for k in range(count):
            eave = (first + k, first + (k + 1) % count)
            sides = {(same[a], same[b]) for a, b in wavefront.arcs[first + k]}
            faces.append(_face(eave, sides, nodes))
        first += count
    for number in range(first, len(wavefront.fronts)):
        sides = {(same[a], same[b]) for a, b in wavefront.arcs[number]}
        front = wavefront.fronts[number]
        along = (float(front.b), -float(front.a))
        faces.append(_traced(_open_sides(sides), along, nodes))
    deck = [tuple(dict.fromkeys(same[v] for v in ring)) for ring in wavefront.deck]
    return RoofNet(nodes=nodes, faces=faces, deck=[ring for ring in deck if len(ring) > 2])


def _open_sides(sides: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """Leave out sides walked both ways: seams inside the face, no edge of it."""
    return {(p, q) for p, q in sides if p != q and (q, p) not in sides}


def _merged(
    nodes: Sequence[tuple[float, float, float]],
    arcs: Sequence[Sequence[tuple[int, int]]],
    tol: Tolerance,
) -> list[int]:
    """Contract arcs of no length to speak of; the first node, a corner if any, gives the number.

    Only what an arc joins is merged: two nodes of a smeared peak may lie as near to each
    other with other faces between them.
    """
    groups = Groups(range(len(nodes)))
    for a, b in {arc for of_edge in arcs for arc in of_edge if arc[0] < arc[1]}:
        (ax, ay, az), (bx, by, bz) = nodes[a], nodes[b]
        if max(abs(ax - bx), abs(ay - by), abs(az - bz)) < tol.node_merge:
            groups.join(a, b)
    return [groups.name(k) for k in range(len(nodes))]


def _face(
    eave: tuple[int, int], sides: set[tuple[int, int]], nodes: Sequence[tuple[float, float, float]]
) -> Rings:
    """Chain the sides of one face."""
    edges = _open_sides(sides)
    edges.add(eave)
    onward = dict(edges)
    ring = [eave[0]]
    at = onward[eave[0]]
    while at != eave[0] and len(ring) <= len(edges):
        ring.append(at)
        at = onward.get(at, eave[0])
    if len(ring) == len(edges) == len(onward):
        return (tuple(ring),)
    return _pinched_face(eave, edges, nodes)


def _pinched_face(
    eave: tuple[int, int], edges: set[tuple[int, int]], nodes: Sequence[tuple[float, float, float]]
) -> Rings:
    """Trace a face with holes, or one that touches itself; the ring with the eave comes first."""
    a, b = eave
    rings = _traced(edges, (nodes[b][0] - nodes[a][0], nodes[b][1] - nodes[a][1]), nodes)
    outer = next((ring for ring in rings if a in ring and b in ring), None)
    if outer is None:
        raise Stuck("an eave bounds no face")
    start = outer.index(a)
    return (outer[start:] + outer[:start], *(ring for ring in rings if ring is not outer))


def _traced(
    edges: set[tuple[int, int]],
    along: tuple[float, float],
    nodes: Sequence[tuple[float, float, float]],
) -> Rings:
    """Trace rings in a face's own frame: along the eave, and up."""
    length = math.hypot(*along)
    dx, dy = along[0] / length, along[1] / length
    frame = {v: (nodes[v][0] * dx + nodes[v][1] * dy, nodes[v][2]) for e in edges for v in e}
    try:
        return trace_rings(sorted(edges), frame)
    except InvariantError as error:
        raise Stuck(str(error)) from error


def require_sound(
    net: RoofNet, wavefront: StagedWavefront, outline: Outline, *, tol: Tolerance
) -> None:
    """Raise Stuck unless faces lie on their planes, face up, match, and add up to the outline."""
    _require_matched(net, outline)
    total = 0.0
    for front, face in zip(wavefront.fronts, net.faces, strict=True):
        a, b, c, s = float(front.a), float(front.b), float(front.c), float(front.s)
        slack = tol.merge * math.hypot(a, b)
        twice = 0.0
        for ring in face:
            x0, y0, _ = net.nodes[ring[-1]]
            for v in ring:
                x, y, z = net.nodes[v]
                if abs(a * x + b * y - c - s * z) > slack:
                    raise Stuck("a corner lies off its plane")
                twice += x0 * y - x * y0
                x0, y0 = x, y
        if twice < -tol.area:
            raise Stuck("a face looks down")
        total += twice / 2.0
    total += sum(signed_area([net.nodes[v][:2] for v in ring]) for ring in net.deck)
    if abs(total - outline.plan_area) > tol.area_share * outline.plan_area:
        raise Stuck(f"faces cover {total:.9f} of {outline.plan_area:.9f} m2")


def _require_matched(net: RoofNet, outline: Outline) -> None:
    """Raise Stuck unless every side but an eave is the side of one other face, reversed."""
    corners = sum(len(ring) for ring in outline.whole)
    rings = [ring for face in net.faces for ring in face] + net.deck
    sides = [side for ring in rings for side in zip(ring, (*ring[1:], ring[0]), strict=True)]
    unlike = set(sides)
    if len(unlike) != len(sides):
        raise Stuck("two faces claim one side")
    lonely = sum(1 for a, b in sides if (b, a) not in unlike)
    if lonely != corners:
        raise Stuck("faces leave a gap")
