"""A parapet being built: its section, what lies on it, and the roof at its foot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border, Nailing, StripRule
from roof3d.details.build_up import BuildUp
from roof3d.details.curbs.parapet_words import STOP_OVER
from roof3d.details.curbs.wrap import Reach, Wrap, open_wrap, swept
from roof3d.details.deck import lay_panels
from roof3d.details.frame import Face, Floats, Frame
from roof3d.details.frames import frame_at_wall, room_on
from roof3d.details.membrane.options import MembraneOptions
from roof3d.details.membrane.sheets.runs import run_at
from roof3d.details.model import INCH, PieceKind
from roof3d.details.shapes.drape import Laid
from roof3d.details.shapes.solids import Body, discs
from roof3d.details.site import DetailSite, open_build
from roof3d.errors import LayoutError
from roof3d.layout.joint import Given
from roof3d.roof.model import Edge, Parapet, Plane

ROLES = ("base", "ply", "cap")


@dataclass(frozen=True, slots=True, kw_only=True)
class ParapetLengths:
    """Lengths of a parapet that neither the catalog, the roof nor the layout has.

    Attributes
    ----------
    fall : Given
        Of its top, toward the roof, for each metre across.
    blocking : Given
        Height of the wood on the wall at its inside.
    inside, outside : Given
        Of the coping down the inside and the outside.
    down : Given
        Of the sheets down the outside.
    gap : Given
        Between two lengths of coping.
    shown : Given
        Of the outside face, from the top.
    guard : Given
        A lower parapet does not keep people from falling.
    """

    fall: Given = Given(1.0 / 12.0)
    blocking: Given = Given(1.5 * INCH)
    inside: Given = Given(4.0 * INCH, "common practice, no source")
    outside: Given = Given(3.0 * INCH)
    down: Given = Given(2.0 * INCH, "Canadian provincial manual")
    gap: Given = Given(0.375 * INCH)
    shown: Given = Given(9.0 * INCH)
    guard: Given = Given(39.0 * INCH, "29 CFR 1926.502(b)")


@dataclass(slots=True, eq=False, kw_only=True)
class ParapetBench:
    """A parapet being built.

    Attributes
    ----------
    site, work, plane, edge, wall, o
    high, top, out : float
        Along the section's line: its inner arris, its outer arris, the end outside.
    cant : float
    wrap : Wrap
    lean : float
        How much its height grows for each metre along u.
    """

    site: DetailSite
    work: BuildUp
    plane: Plane
    edge: Edge
    wall: Parapet
    o: ParapetLengths
    high: float
    top: float
    cant: float
    wrap: Wrap
    lean: float

    def station(self, u: float) -> Callable[[Floats], Floats]:
        """Return what puts a section at a place along the line; what is high stays level."""
        frame = self.work.frame
        axes = np.array((frame.level, frame.upright))
        start = np.array(frame.origin) + u * np.array(frame.along)
        middle, shift = (self.cant + self.high) / 2.0, self.lean * u

        def place(ring: Floats) -> Floats:
            moved = ring.copy()
            moved[:, 1] += np.where(ring[:, 1] > middle, shift, 0.0)
            found: Floats = start + moved @ axes
            return found

        return place

    def length(self, ring: Floats, span: Reach) -> Body:
        """Return an outline carried from one u to another."""
        return swept(ring, [self.station(u) for u in span], closed=False)

    def lay(
        self,
        names: tuple[str, str, PieceKind, int, str],
        reach: Reach,
        spans: Sequence[Reach] = (),
    ) -> Floats:
        """Lay a sheet or a length of metal along the wall; returns its outline."""
        name, title, kind, number, material = names
        ring = self.wrap.lay(reach, self.work.thickness(material))
        spans = spans or (self.work.span,)
        bodies = [self.length(ring, span) for span in spans]
        a, b = reach
        parts = [
            (face, shapely.box(self.work.span[0], low, self.work.span[1], high))
            for face, low, high in (
                (Face.NEAR, a, min(b, 0.0)),
                (Face.FAR, max(a, 0.0), min(b, self.work.size[2])),
            )
            if high - low > self.work.tol.merge
        ]
        self.work.solid(name, title, kind, number, material, bodies, parts)
        return ring

    def heads(self, name: str, number: int, nails: Nailing, places: Sequence[Floats]) -> None:
        """Set heads on what is laid: each at (u, place along the line)."""
        made = self.work.catalog.material(nails.fastener)
        high = self.work.options.least_thickness / 4.0 or made.width / 16.0
        bodies = []
        for u, at in np.array(places).tolist():
            frame, s = self._face(at)
            bodies.append(
                discs(frame, [(u, s, self.wrap.top(at))], radius=made.width / 2.0, height=high)
            )
        title = f"{made.name}s"
        self.work.solid(name, title, PieceKind.FASTENER, number, made.id, bodies)

    def _face(self, at: float) -> tuple[Frame, float]:
        """Return a frame in which a place along the line lies flat on a face, and its s."""
        frame = self.work.frame
        if at <= self.high:
            return frame, at
        x, y = self.wrap.point(self.top, 0.0)
        out = np.array(frame.origin) + np.array((x, y)) @ np.array((frame.level, frame.upright))
        a, b, c = (-np.array(frame.far)).tolist()
        p, q, r = out.tolist()
        n = (-np.array(frame.far_normal)).tolist()
        turned = replace(frame, origin=(p, q, r), far=(a, b, c), far_normal=(n[0], n[1], n[2]))
        return turned, at - self.top


def open_parapet(site: DetailSite, o: ParapetLengths) -> ParapetBench:
    """Return an empty parapet at a site.

    Raises
    ------
    LayoutError
        Where its edge carries none.
    """
    edge = site.roof.edge(site.place.edge)
    plane = site.roof.plane(site.place.planes[0])
    wall = edge.parapet
    if wall is None:
        raise LayoutError(
            "carries no parapet", where=f"edges[{edge.id}]", hint="draw another of its joints"
        )
    frame = frame_at_wall(edge.ends, plane)
    high = (wall.top - frame.origin[2]) / frame.far[2]
    size = (
        min(site.options.width.metres, edge.length),
        min(MembraneOptions().wall_run.metres, room_on(plane, frame.origin, frame.near)),
        high,
    )
    work = open_build(site, frame, size, folded=True)
    cant_rule = site.strip(plane.id, "cant")
    cant = site.catalog.material(cant_rule.material).width if cant_rule else 0.0
    (x, y) = frame.section(np.array([np.array(frame.origin) + np.array(frame.near)]))[0].tolist()
    thick, rise = wall.thickness, wall.thickness * o.fall.metres
    top = high + float(np.hypot(thick, rise))
    run = size[1]
    corner = [(0.0, (0.0, 0.0))]
    if cant:
        corner = [(-cant, (cant * x, cant * y)), (cant, (0.0, cant))]
    bends = [
        (-run, (run * x, run * y)),
        *corner,
        (high, (0.0, high)),
        (top, (thick, high + rise)),
        (top + o.shown.metres, (thick, high + rise - o.shown.metres)),
    ]
    ends = _ends(site, work, plane.id, o, (high, top))
    return ParapetBench(
        site=site,
        work=work,
        plane=plane,
        edge=edge,
        wall=wall,
        o=o,
        high=high,
        top=top,
        cant=cant,
        wrap=open_wrap(bends, ends, ramp=1.0 * INCH),
        lean=-frame.along[2] / frame.far[2],
    )


HOOK = (0.5 * INCH, 3.25 * INCH)
"""From where to where the hook strip lies down the outside."""


def _ends(
    site: DetailSite, work: BuildUp, plane_id: str, o: ParapetLengths, arris: Reach
) -> list[float]:
    """Return where sheets and metal end along the section."""
    high, top = arris
    ends = [high - o.inside.metres, top + o.down.metres, top + o.outside.metres]
    ends += [top + HOOK[0], top + HOOK[1]]
    for role, layer in site.layers(plane_id).items():
        if role in ROLES:
            ends.append(layer.reach_at(Border.HEADWALL))
            ends += [e for r in run_at(site, work, plane_id, role).reaches for e in r]
    for name in ("parapet-ply", "parapet-cap"):
        rule = site.strip(plane_id, name)
        if rule is not None:
            ends.append(flashing_foot(rule))
    stop = site.strip(plane_id, "stop-bar")
    if stop is not None and high > STOP_OVER:
        ends += bar_reach(site, stop)
    return ends


def flashing_foot(rule: StripRule) -> float:
    """Return where a sheet of the flashing begins on the roof, metres; below 0."""
    return -(rule.width + rule.start.at(0.0, 0.0))


def bar_reach(site: DetailSite, rule: StripRule) -> Reach:
    """Return from where to where a bar lies up the wall."""
    head = -rule.start.at(0.0, 0.0)
    return head - site.catalog.material(rule.material).width, head


def lay_roof(work: BuildUp, deck: str) -> float:
    """Lay deck and rafters up to a wall; returns the thickness of the deck."""
    depth = work.catalog.material(deck).thickness
    # Off the wall by so much that none of it, cut square, reaches into the wall.
    tilt = abs(work.frame.near[2]) / work.frame.near_normal[2]
    lay_panels(work, deck, Face.NEAR, "roof plane", slot=INCH / 8.0 + depth * tilt)
    _lay_rafters(work, depth, INCH / 8.0 + 6.0 * INCH * tilt)
    return depth


def _lay_rafters(work: BuildUp, depth: float, off: float) -> None:
    """Lay rafters under the deck, ``off`` the wall."""
    laid = Laid(
        at=np.array((-work.size[1], -off)),
        under=np.full(2, -depth - 5.5 * INCH),
        over=np.full(2, -depth),
    )
    half = 0.75 * INCH
    middles = [m for m in (-24.0 * INCH, 0.0, 24.0 * INCH) if abs(m) + half < work.span[1]]
    spans = [(m - half, m + half) for m in middles]
    work.add("framing.rafters_near", "Rafters", PieceKind.FRAMING, 1, "", laid, spans)
