"""The one tolerance object. Zero means exact; no other module holds a small literal."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Named tolerances; lengths in metres, slopes as rise over run.

    Attributes
    ----------
    grid : float
        Step of the plan grid on which line work is noded (a power of two, so that
        snapping is exact in binary).
    overshoot : float
        How far crossing lines run past their ends so that snapping cannot part them.
    sliver : float
        Cells thinner, and edges shorter, than this are rounding crumbs.
    weld : float
        Walls and plates of sections closer than this were meant to be one.
    weld_pitch : float
        The same for pitches, as a share of the pitch.
    weld_turn : float
        The same for directions, radians.
    snap : float
        Largest move of a vertex onto its canonical lines.
    height : float
        Two heights closer than this are equal.
    slope : float
        Two gradients closer than this are the same plane class.
    direction : float
        Directions (unit vectors) closer than this are parallel.
    parallel : float
        Lines that meet at less than this (radians) do not fix a point between them.
    level : float
        A valley or wall line with a slope up to this lets water stand.
    level_share : float
        An edge that climbs by no more than this share of its planes' slope counts as level
        when roles are given: walls as drawn are never quite parallel.
    clearance : float
        Least gap for a roof to live on under another roof's overhang.
    area : float
        Areas below this (square metres) are nothing.
    merge : float
        Points closer than this are one.
    front_place, front_time : float
        Float kernel of the skeleton, for each metre of extent: events nearer than this in
        place and in height are one.
    look_late, look_behind : float
        Exact kernel of the skeleton: how much more than asked the float look ahead takes
        in, as a share of the height and in metres; a hit too many is harmless.
    node_merge : float
        Sides of a roof face shorter than this are none: their ends are one node.
    in_line : float
        Neighbouring edges that turn by less than this (radians) run straight on.
    area_share : float
        Faces of a sound roof miss the outline's area by less than this share.
    edge_off : float
        A side of a plane and an edge of the roof nearer than this, in space, are one.
    cut_grid : float
        Step of the grid on which extents are cut (a power of two): rounding of strips that
        share a side leaves no slivers.
    crumb_width, crumb_length, crumb_area : float
        Planes narrower or smaller and edges shorter than this are told to the user: corners
        that nearly fit, or a section that just comes out behind another.
    """

    grid: float = 2.0**-20
    overshoot: float = 16 * 2.0**-20
    sliver: float = 64 * 2.0**-20
    weld: float = 5e-3
    weld_pitch: float = 2e-3
    weld_turn: float = 2.5e-4
    snap: float = 2e-3
    height: float = 1e-4
    slope: float = 1e-7
    direction: float = 1e-9
    parallel: float = 1e-3
    level: float = 1e-3
    level_share: float = 0.05
    clearance: float = 0.05
    area: float = 1e-6
    merge: float = 1e-6
    front_place: float = 1e-9
    front_time: float = 1e-11
    look_late: float = 1e-9
    look_behind: float = 1e-7
    node_merge: float = 1e-7
    in_line: float = 1e-6
    area_share: float = 1e-9
    edge_off: float = 1e-3
    cut_grid: float = 2.0**-30
    crumb_width: float = 0.01
    crumb_length: float = 0.02
    crumb_area: float = 0.05


DEFAULT = Tolerance()
