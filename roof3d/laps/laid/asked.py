"""Which strip an assembly asks for along which edge: from the roof alone, whatever is laid."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.model import Assembly
from roof3d.layout.model import Point2
from roof3d.layout.strips import CRICKET_LINING, lines_valleys
from roof3d.layout.strips.flashing import cricket_valley
from roof3d.layout.strips.lines import ASTRIDE, Line, Wishes, mitred_end, needs_cricket
from roof3d.layout.strips.parapets import OUTSIDE, asks_along
from roof3d.roof.model import Edge, Plane, Point3, Role, Roof, RoofOpening
from roof3d.spec.model import OpeningKind
from roof3d.tolerance import Tolerance

Ends: TypeAlias = tuple[Point3, Point3]

_BENDS: Final = frozenset({Role.TRANSITION, Role.PITCH_BREAK})
_ROUND: Final = {OpeningKind.PIPE: Border.PIPE, OpeningKind.DRAIN: Border.DRAIN}


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedStrip:
    """A strip that must lie along an edge or round an opening.

    Attributes
    ----------
    edge : str
        Id of the edge, opening or scupper.
    rim : bool
        Whether it is no edge.
    rule : StripRule
    planes : tuple[str, ...]
        Whose assemblies ask for it; it lies on one of them, or across both.
    assembly : str
        One that asks for it.
    spans : tuple of Point2
        From where to where it must lie, metres from the first end of an edge. Round an opening,
        of which no strip says on what side it lies, one for each side, from 0 on.
    places : tuple of two of Point3
        Ends of each span in space.
    corner : float or None
        Where the wall turns, metres from the first end of the edge: a joint is there too.
    """

    edge: str
    rim: bool
    rule: StripRule
    planes: tuple[str, ...]
    assembly: str
    spans: tuple[Point2, ...]
    places: tuple[Ends, ...]
    corner: float | None = None

    @property
    def length(self) -> float:
        """Metres that it must cover."""
        return sum(high - low for low, high in self.spans)


def strips_asked(
    roof: Roof, assembly_of: Mapping[str, str], wishes: Wishes
) -> tuple[AskedStrip, ...]:
    """Return every strip that the assemblies ask for, whatever is laid.

    Parameters
    ----------
    roof : Roof
        Its edges and their roles say what borders each plane; no layout is asked.
    assembly_of : mapping of str to str
        Plane id to assembly id, for every plane.
    wishes : Wishes
        What catalog and model say of strips.

    Returns
    -------
    tuple[AskedStrip, ...]
        In the order of edges, openings, scuppers.
    """
    assemblies = {name: wishes.catalog.assembly(chosen) for name, chosen in assembly_of.items()}
    asked = [
        *(one for edge in roof.edges for one in _along(edge, roof, assemblies, wishes)),
        *(one for opening in roof.openings for one in _round(opening, roof, assemblies, wishes)),
        *(one for opening in roof.openings for one in _behind(opening, roof, assemblies, wishes)),
    ]
    for scupper in roof.scuppers:
        line = _line(Border.SCUPPER, scupper.width, opening=OpeningKind.SCUPPER.value)
        asked += [
            AskedStrip(
                edge=scupper.id,
                rim=True,
                rule=rule,
                planes=(scupper.plane,),
                assembly=assembly_of[scupper.plane],
                spans=((0.0, scupper.width),),
                places=((scupper.place, scupper.place),),
            )
            for rule in _rules(assemblies[scupper.plane], line, wishes)
        ]
    return tuple(asked)


def _along(
    edge: Edge, roof: Roof, assemblies: Mapping[str, Assembly], wishes: Wishes
) -> Iterator[AskedStrip]:
    """Give what must lie along an edge: across a ridge, hip or valley once for both planes."""
    kinds = {assemblies[plane].kind for plane in edge.planes}
    shared: dict[str, AskedStrip] = {}
    for plane in edge.planes:
        border = _border(edge, plane, joint=len(kinds) > 1)
        astride = border in ASTRIDE
        if astride and assemblies[plane].kind == "membrane" and "shingle" in kinds:
            continue  # the shingles bring what lies across
        spans = _shared_spans(edge.ends, roof.plane(plane), wishes.tol)
        for rule in _rules(assemblies[plane], _edge_line(border, edge), wishes) if spans else ():
            one = AskedStrip(
                edge=edge.id,
                rim=False,
                rule=rule,
                planes=(plane,),
                assembly=assemblies[plane].id,
                spans=spans,
                places=tuple(_ends_at(edge, span) for span in spans),
                corner=mitred_end(edge, tol=wishes.tol),
            )
            if edge.parapet is not None and rule.parapet == OUTSIDE:
                outside = ((0.0, edge.parapet.coping_length),)
                one = replace(one, spans=outside, places=(edge.ends,))
            if not astride:
                yield one
            elif rule.id not in shared:
                shared[rule.id] = one
            else:
                first = shared[rule.id]
                planes, spans_ = (*first.planes, plane), join_spans((*first.spans, *spans))
                places = tuple(_ends_at(edge, span) for span in spans_)
                shared[rule.id] = replace(first, planes=planes, spans=spans_, places=places)
    yield from shared.values()


def _border(edge: Edge, plane: str, *, joint: bool) -> Border:
    """Return what an edge is for a plane, from its role alone."""
    if edge.role is Role.VALLEY:
        return Border.JOINT_VALLEY if joint else Border.VALLEY
    if edge.role not in _BENDS:
        return Border(edge.role.value)
    if edge.planes[0] == plane:
        return Border.JOINT_UPPER if joint else Border.BREAK_UPPER
    return Border.JOINT_LOWER if joint else Border.BREAK_LOWER


def _round(
    opening: RoofOpening, roof: Roof, assemblies: Mapping[str, Assembly], wishes: Wishes
) -> Iterator[AskedStrip]:
    """Give what must lie round an opening, rule by rule on each plane that it cuts."""
    sides: dict[tuple[str, Border], list[Ends]] = defaultdict(list)
    for ends in (ends for rim in opening.rim for ends in itertools.pairwise(rim)):
        plane = _plane_at(ends, opening, roof, wishes.tol)
        sides[(plane.id, _rim_border(ends, opening, plane, wishes.tol))].append(ends)
    cricket = needs_cricket(opening, wishes.tol)
    once: set[str] = set()
    for plane_id in opening.planes:
        found: dict[str, tuple[StripRule, list[Ends]]] = {}
        for (of, border), ends_ in sides.items():
            if of == plane_id:
                line = _line(border, 0.0, opening=opening.kind.value, cricket=cricket)
                for rule in _rules(assemblies[of], line, wishes):
                    found.setdefault(rule.id, (rule, []))[1].extend(ends_)
        for rule, places in found.values():
            if rule.each and rule.id in once:
                continue
            once.add(rule.id)
            yield AskedStrip(
                edge=opening.id,
                rim=True,
                rule=rule,
                planes=opening.planes if rule.each else (plane_id,),
                assembly=assemblies[plane_id].id,
                spans=tuple((0.0, math.dist(*ends)) for ends in places),
                places=tuple(places),
            )


def _behind(
    opening: RoofOpening, roof: Roof, assemblies: Mapping[str, Assembly], wishes: Wishes
) -> Iterator[AskedStrip]:
    """Give what must line both valleys of a cricket."""
    if not needs_cricket(opening, wishes.tol):
        return
    heads: dict[str, list[Ends]] = defaultdict(list)
    for ends in (ends for rim in opening.rim for ends in itertools.pairwise(rim)):
        plane = _plane_at(ends, opening, roof, wishes.tol)
        if _rim_border(ends, opening, plane, wishes.tol) is Border.OPENING_HEAD:
            heads[plane.id].append(ends)
    if not heads:
        return
    host = max(heads, key=lambda name: sum(math.dist(*ends) for ends in heads[name]))
    for rule in assemblies[host].strips:
        if lines_valleys(rule) and wishes.ask_for(rule):
            size = cricket_valley(opening.width_across, roof.plane(host).slope)
            yield AskedStrip(
                edge=opening.id,
                rim=True,
                rule=replace(rule, id=CRICKET_LINING),
                planes=opening.planes,
                assembly=assemblies[host].id,
                spans=((0.0, size), (0.0, size)),
                places=(heads[host][0], heads[host][-1]),
            )
            return


def _plane_at(ends: Ends, opening: RoofOpening, roof: Roof, tol: Tolerance) -> Plane:
    """Return the plane that ends at a piece of a rim: two may lie in one, side by side."""

    def shared(name: str) -> float:
        spans = _shared_spans(ends, roof.plane(name), tol)
        return sum(high - low for low, high in spans)

    return roof.plane(max(opening.planes, key=shared))


def _rim_border(ends: Ends, opening: RoofOpening, plane: Plane, tol: Tolerance) -> Border:
    """Return what a piece of a rim is: foot or head where it runs across the fall."""
    if opening.kind in _ROUND:
        return _ROUND[opening.kind]
    (x0, y0, _), (x1, y1, _) = ends
    if plane.slope <= tol.slope:
        return Border.OPENING_SIDE
    gx, gy = (part / plane.slope for part in plane.gradient)
    up = ((x1 - x0) * gx + (y1 - y0) * gy) * math.hypot(1.0, plane.slope)
    across = (y1 - y0) * gx - (x1 - x0) * gy
    if abs(up) > abs(across) + tol.merge:
        return Border.OPENING_SIDE
    # The plane lies on the side that the middle of the opening is not on.
    cx, cy = (sum(axis) / len(opening.outline) for axis in zip(*opening.outline, strict=True))
    left = (x1 - x0) * (cy - y0) - (y1 - y0) * (cx - x0) > 0.0
    return Border.OPENING_HEAD if left == (across > 0.0) else Border.OPENING_FOOT


def _rules(assembly: Assembly, line: Line, wishes: Wishes) -> Iterator[StripRule]:
    for rule in assembly.strips:
        if wishes.ask_along(rule, line) and asks_along(rule, line, tol=wishes.tol):
            yield rule


def _line(border: Border, length: float, *, opening: str, cricket: bool = False) -> Line:
    """Return as much of a line as decides which rules hold along it."""
    ends = ((0.0, 0.0), (length, 0.0))
    return Line(
        owner="",
        rim=True,
        border=border,
        ends=ends,
        length=length,
        opening=opening,
        cricket=cricket,
    )


def _edge_line(border: Border, edge: Edge) -> Line:
    return Line(
        owner=edge.id,
        rim=False,
        border=border,
        ends=((0.0, 0.0), (edge.length, 0.0)),
        length=edge.length,
        parapet=edge.parapet,
        wall=0.0 if edge.parapet is None else max(edge.wall_heights or (0.0,)),
    )


def _shared_spans(ends: Ends, plane: Plane, tol: Tolerance) -> tuple[Point2, ...]:
    """Return from where to where on a line a plane ends there: it may run on beneath an edge."""
    start, end = (np.array(point) for point in ends)
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    spans = []
    for ring in (plane.outline, *plane.holes):
        for one, two in itertools.pairwise(np.array((*ring, ring[0]))):
            first, last = float((one - start) @ along), float((two - start) @ along)
            low, high = max(0.0, min(first, last)), min(length, max(first, last))
            if high - low <= tol.edge_off:
                continue
            places = (one + (at - first) / (last - first) * (two - one) for at in (low, high))
            feet = (start + at * along for at in (low, high))
            if all(
                float(np.linalg.norm(place - foot)) <= tol.edge_off
                for place, foot in zip(places, feet, strict=True)
            ):
                spans.append((low, high))
    return join_spans(spans)


def join_spans(spans: Iterable[Point2]) -> tuple[Point2, ...]:
    """Return spans in order, those that meet or overlap as one."""
    joined: list[Point2] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return tuple(joined)


def _ends_at(edge: Edge, span: Point2) -> Ends:
    low, high = (point_between(edge.ends, at / edge.length) for at in span)
    return low, high


def point_between(ends: Ends, share: float) -> Point3:
    """Return the point at a share of the way."""
    x, y, z = (a + share * (b - a) for a, b in zip(*ends, strict=True))
    return (x, y, z)


def middle_of(ends: Ends) -> Point3:
    """Return the point half way."""
    return point_between(ends, 0.5)
