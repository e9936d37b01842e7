"""Where eave and rake of one plane meet: the deck, the fascia and the barge board, and folds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from roof3d.details.frame import Floats, Frame
from roof3d.details.frames import frame_at_drop
from roof3d.details.membrane.sheets.quilt import Bend
from roof3d.details.site import DetailSite
from roof3d.errors import LayoutError
from roof3d.roof.model import Edge, Plane, Role
from roof3d.tolerance import DEFAULT, Tolerance


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Corner:
    """An outside corner; its line is the eave, its width ends at the rake.

    Attributes
    ----------
    plane : Plane
    frame : Frame
        Of the eave, its origin half a width inside the corner.
    at : float
        The u of the rake.
    way : float
        1 where the rake lies to the right, else -1.
    """

    plane: Plane
    frame: Frame
    at: float
    way: float


def find_corner(site: DetailSite, width: float, *, tol: Tolerance = DEFAULT) -> Corner:
    """Return the corner of a site.

    Parameters
    ----------
    site : DetailSite
        Its place is called after the rake.
    width : float
        Of the cut-out, metres.
    tol : Tolerance

    Raises
    ------
    LayoutError
        Where eave and rake do not meet square.
    """
    plane = site.roof.plane(site.place.planes[0])
    rake = site.roof.edge(site.place.id.rpartition(".")[0])
    eave = _eave_of(site, rake)
    point = np.array(next(end for end in rake.ends if end in eave.ends))
    other = np.array(next(end for end in eave.ends if tuple(end) != tuple(point.tolist())))
    frame = frame_at_drop(eave.ends, plane)
    along = np.array(frame.along)
    up = np.array(rake.ends[1]) - np.array(rake.ends[0])
    if abs(float(up @ along)) > tol.merge:
        raise LayoutError(
            "meets its rake askew; the corner is drawn where they meet square",
            where=f"edges[{eave.id}]",
            hint="choose another place",
        )
    way = 1.0 if float((point - other) @ along) > 0.0 else -1.0
    x, y, z = (point - way * width / 2.0 * along).tolist()
    return Corner(
        plane=plane, frame=replace(frame, origin=(x, y, z)), at=way * width / 2.0, way=way
    )


def width_at(site: DetailSite) -> float:
    """Return the length of the eave at a corner, metres."""
    return _eave_of(site, site.roof.edge(site.place.id.rpartition(".")[0])).length


def _eave_of(site: DetailSite, rake: Edge) -> Edge:
    return next(
        edge
        for edge in site.roof.edges
        if edge.role is Role.EAVE
        and edge.planes == rake.planes
        and any(end in edge.ends for end in rake.ends)
    )


def corner_bend(corner: Corner, *, tol: Tolerance = DEFAULT) -> Bend:
    """Return how places go to space: past eave and rake down their boards."""
    frame, way, merge = corner.frame, corner.way, tol.merge
    origin, along = np.array(frame.origin), np.array(frame.along)
    near, down = np.array(frame.near), np.array(frame.far)
    normals = np.array([frame.near_normal, frame.far_normal, (way * along).tolist()])
    deck, fascia, board = normals
    tip = np.linalg.solve(normals, np.ones(3))
    over_eave = (deck + fascia) / (1.0 + float(deck @ fascia))
    over_rake = (deck + board) / (1.0 + float(deck @ board))

    def bend(places: Floats, height: Floats) -> Floats:
        u, s = places.T
        out = way * (u - corner.at)
        past_rake, past_eave = np.maximum(out, 0.0), np.maximum(s, 0.0)
        flat = (
            np.outer(u - way * past_rake, along)
            - np.outer(np.minimum(s, 0.0), near)
            + np.outer(past_rake + past_eave, down)
        )
        at_rake, at_eave = np.abs(out) <= merge, np.abs(s) <= merge
        lift = np.select(
            [
                (at_rake & at_eave)[:, None],
                (at_rake & (s < 0.0))[:, None],
                (at_eave & (out < 0.0))[:, None],
                (out > merge)[:, None],
                (s > merge)[:, None],
            ],
            [np.broadcast_to(n, flat.shape) for n in (tip, over_rake, over_eave, board, fascia)],
            np.broadcast_to(deck, flat.shape),
        )
        points: Floats = origin + flat + height[:, None] * lift
        return points

    return bend
