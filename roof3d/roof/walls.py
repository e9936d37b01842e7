"""Where the walls of a section stand in plan."""

from __future__ import annotations

import shapely

from roof3d.roof.sections import placement
from roof3d.spec.model import SectionSpec


def wall_polygon(section: SectionSpec) -> shapely.Polygon:
    """Return the outside wall faces of a section in plan.

    Parameters
    ----------
    section : SectionSpec
        As drawn; of an open section, the lines on which its roof is measured.

    Returns
    -------
    shapely.Polygon
        World coordinates, metres; courtyards are holes.

    Examples
    --------
    >>> from roof3d.spec.read import parse_spec
    >>> spec = parse_spec('''
    ... schema = 1
    ... name = "shed"
    ... units = "metric"
    ... [[section]]
    ... id = "shed"
    ... form = "shed"
    ... length = "4 m"
    ... width = "3 m"
    ... at = ["10 m", "2 m"]
    ... turn = "90 deg"
    ... eave = "2 m"
    ... pitch = "10 %"
    ... overhang = "0 m"
    ... ''')
    >>> wall_polygon(spec.sections[0]).bounds
    (7.0, 2.0, 10.0, 6.0)
    """
    place = placement(section, (0.0, 0.0))
    if section.outline is None:
        x, y = section.length, section.width
        return shapely.Polygon([place.point(p) for p in ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))])
    shell, *yards = ([place.point(p) for p in ring] for ring in section.outline.rings)
    return shapely.Polygon(shell, yards)
