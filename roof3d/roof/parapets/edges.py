"""Edges of a roof with parapets: the tops of walls are no roof, their inside faces are walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from roof3d.geometry.plane import Point2
from roof3d.roof.model import Parapet, Role
from roof3d.roof.overlay.edges import EdgeRecord
from roof3d.roof.overlay.regions import Region
from roof3d.roof.parapets.raise_walls import RaisedWall, parapet_of
from roof3d.tolerance import Tolerance

_LEVEL = frozenset({Role.EAVE, Role.HIGH_EDGE, Role.RIDGE, Role.HEADWALL})


def without_tops(
    records: Sequence[EdgeRecord],
    regions: Sequence[Region],
    walls: Sequence[RaisedWall],
    ids: Sequence[str],
    *,
    tol: Tolerance,
) -> tuple[EdgeRecord, ...]:
    """Leave out the edges of the walls' tops, and say on which edges a parapet stands.

    Parameters
    ----------
    records : sequence of EdgeRecord
        As found with the bodies of the walls among the sections.
    regions : sequence of Region
    walls : sequence of RaisedWall
    ids : sequence of str
        Of the sections alone; what comes after them are bodies of walls, in their order.
    tol : Tolerance

    Returns
    -------
    tuple[EdgeRecord, ...]
        A roof that meets the top of a wall at its height ends there as at a wall.
    """
    if not walls:
        return tuple(records)
    owners = [wall for wall in walls for _ in wall.bodies]
    kept = []
    for found in records:
        roofs = tuple(r for r in found.regions if regions[r].section < len(ids))
        if not roofs:
            continue
        record = found
        if len(roofs) < len(found.regions):
            top = next(r for r in found.regions if r not in roofs)
            record = replace(
                found,
                regions=roofs,
                role=Role.HEADWALL if found.role in _LEVEL else Role.SIDEWALL,
                convex=False,
                wall=regions[top].section,
            )
        if record.wall >= len(ids):
            wall = owners[record.wall - len(ids)]
            if wall.holds(regions[roofs[0]].plane, tol=tol):
                parapet = parapet_of(wall, record.ends, ids[wall.section], tol=tol)
                record = replace(record, parapet=parapet)
        kept.append(record)
    return tuple(kept)


def in_world(parapet: Parapet, origin: Point2) -> Parapet:
    """Return a parapet in world coordinates."""
    return replace(parapet, plan=tuple((x + origin[0], y + origin[1]) for x, y in parapet.plan))
