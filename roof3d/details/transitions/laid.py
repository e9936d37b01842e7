"""The layout's own courses, where they cross a joint that runs level along them."""

from __future__ import annotations

import numpy as np

from roof3d.details.build_up import BuildUp
from roof3d.details.site import DetailSite
from roof3d.layout.borders.frame import to_plane
from roof3d.layout.model import Direction

Reaches = tuple[tuple[float, float], ...]


def laid_courses(
    site: DetailSite, work: BuildUp, plane_id: str, role: str, past: float
) -> tuple[Reaches, float]:
    """Return the courses of a layer of the near plane as reaches in s, in the order laid.

    Parameters
    ----------
    plane_id : str
        The near plane.
    role : str
    past : float
        How far the layer runs past the line, metres; below 0 where it stops short.

    Returns
    -------
    reaches : tuple of (float, float)
        Those that the cut-out holds any of, cut at ``past``; empty where the layout has no
        such layer, or its courses do not run along the line.
    lap : float
        Side lap as laid.
    """
    laid, layer = site.laid_plane(plane_id), site.laid_layer(plane_id, role)
    if laid is None or layer is None or layer.direction is not Direction.ACROSS:
        return (), 0.0
    frame = work.frame
    along = np.array(frame.along)
    if abs(float(along @ np.array(laid.frame.up))) > work.tol.level:
        return (), 0.0
    line = float(to_plane(laid.frame, [frame.origin])[0, 1])
    # s grows toward the line; the plane's own v grows up the slope.
    sign = -float(np.sign(np.array(frame.near) @ np.array(laid.frame.up)))
    found = []
    for course in layer.courses:
        ends = sorted((sign * (course.low - line), sign * (course.high - line)))
        reach = (ends[0], min(ends[1], past))
        if reach[1] - reach[0] > work.tol.merge and reach[1] > -work.size[1]:
            found.append(reach)
    return tuple(found), layer.side_lap
