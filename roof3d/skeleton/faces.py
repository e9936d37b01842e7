"""Roof faces over any eave outline: the door of this room."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roof3d.errors import GeometryError, InvariantError
from roof3d.skeleton.assembly import RoofNet, assemble_faces, require_sound
from roof3d.skeleton.fronts import (
    Number,
    changed_front,
    exact_fronts,
    exact_slack,
    float_fronts,
    float_slack,
)
from roof3d.skeleton.outline import UNIT, Outline, read_outline, tight_place
from roof3d.skeleton.place import Stuck, Unbounded
from roof3d.skeleton.stages import Change, StagedWavefront
from roof3d.tolerance import DEFAULT, Tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """From ``height`` on the plane over ``edge`` (counted through all rings) has ``run``.

    ``run`` is run over rise; 0 is vertical.
    """

    height: Fraction
    edge: int
    run: Fraction


FaceRings: TypeAlias = tuple[NDArray[np.float64], ...]

BUDGET = 400
"""Events for each edge before the kernel gives up; real outlines need about ten."""


def faces(
    rings: Sequence[ArrayLike],
    slopes: Sequence[ArrayLike],
    *,
    exact: bool = False,
    tol: Tolerance = DEFAULT,
) -> tuple[tuple[FaceRings, ...], ...]:
    """Find the roof face that rises from every edge of an outline.

    Parameters
    ----------
    rings : sequence of (n, 2) array_like
        Exterior counterclockwise, then holes clockwise; metres; not closed. A ring wound
        the wrong way is turned, with a warning.
    slopes : sequence of (n,) array_like
        Rise over run, above 0, of the edge from each vertex to the next; ``inf`` makes a
        vertical face (a gable end).
    exact : bool
        Use the exact kernel from the start. Else it is asked only where floats cannot tell
        or their result does not check.
    tol : Tolerance

    Returns
    -------
    tuple of rings of edges of faces
        For each ring and edge, as given, a tuple of read-only ``(k, 3)`` rings: first the
        outer one, starting along the eave at z = 0, counterclockwise seen from above (a
        vertical face seen from outside); then inner ones if any. The plan areas of all
        faces add up to the outline's.

    Raises
    ------
    GeometryError
        With the ring and vertex of bad input; ``R3D-UNBOUNDED`` where planes never close.
    InvariantError
        If not even the exact kernel gives a sound roof.

    Notes
    -----
    About linear in the number of vertices for small outlines; each reflex vertex looks at
    every edge once, as one array operation.

    References
    ----------
    Aichholzer, Aurenhammer, Alberts, Gaertner: A Novel Type of Skeleton for Polygons,
    J.UCS 1(12), 1995. See ``ALGORITHM.md`` beside this file.

    Examples
    --------
    >>> square = [(0, 0), (4, 0), (4, 4), (0, 4)]
    >>> found = faces([square], [[0.5, 0.5, 0.5, 0.5]])
    >>> found[0][0][0].tolist()
    [[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [2.0, 2.0, 1.0]]
    """
    outline = read_outline(rings, slopes, tol=tol)
    return _as_given(outline, solve(outline, exact=exact, tol=tol))


def solve(
    outline: Outline,
    stages: Sequence[Stage] = (),
    cap: Fraction | None = None,
    *,
    exact: bool = False,
    tol: Tolerance,
) -> RoofNet:
    """Shrink a checked outline: floats first, exact numbers where they cannot tell.

    Parameters
    ----------
    outline : Outline
    stages : sequence of Stage
        In order of height.
    cap : Fraction, optional
        Height of a deck that cuts the roof.
    exact : bool
    tol : Tolerance

    Raises
    ------
    GeometryError
        ``R3D-UNBOUNDED`` where planes never close.
    InvariantError
        If not even the exact kernel gives a sound roof.
    """
    if not exact:
        try:
            return _run(outline, stages, cap, exact=False, tol=tol)
        except (Stuck, Unbounded):
            # Floats may also fail to see that fronts do meet: the exact kernel decides.
            pass
    try:
        return _run(outline, stages, cap, exact=True, tol=tol)
    except Unbounded as error:
        edges = [(k, v) for k, ring in enumerate(outline.whole) for v in range(len(ring))]
        edges += [edges[stage.edge] for stage in stages]
        ring, vertex = edges[error.edge]
        raise GeometryError(
            "the planes beside the edge from here never close: no sloping edge faces them",
            where=f"ring {ring}, vertex {vertex}",
            hint="give one more edge a pitch",
            code="R3D-UNBOUNDED",
        ) from error
    except Stuck as error:
        place = tight_place(outline, tol=tol)
        if place is not None:
            raise GeometryError(
                f"lies within {tol.merge:g} m of an edge that does not end there",
                where=f"ring {place[0]}, vertex {place[1]}",
                hint="leave out the sliver, or draw the outline as two",
            ) from error
        raise InvariantError(
            f"the exact kernel got stuck: {error}", hint="please report the outline"
        ) from error


def _run(
    outline: Outline,
    stages: Sequence[Stage],
    cap: Fraction | None,
    *,
    exact: bool,
    tol: Tolerance,
) -> RoofNet:
    """Shrink the outline with one kind of number, and check what comes of it."""
    make = exact_fronts if exact else float_fronts
    number: Callable[[Fraction], Number] = (lambda value: value) if exact else float
    fronts = [
        front
        for ring, runs in zip(outline.whole, outline.runs, strict=True)
        for front in make(ring, runs, UNIT)
    ]
    changes = []
    current = list(range(len(fronts)))
    for stage in stages:
        t, old = number(stage.height), fronts[current[stage.edge]]
        changes.append(Change(t=t, edge=current[stage.edge], onward=len(fronts)))
        current[stage.edge] = len(fronts)
        fronts.append(changed_front(old, number(stage.run), t, exact=exact))
    slack = exact_slack(tol) if exact else float_slack(outline.extent, tol)
    unit = number(UNIT)
    wavefront = StagedWavefront(
        fronts,
        slack,
        budget=BUDGET * (len(fronts) + 10),
        changes=changes,
        cap=None if cap is None else number(cap),
    )
    first = 0
    for ring in outline.whole:
        wavefront.add_ring(first, [(x * unit, y * unit) for x, y in ring])
        first += len(ring)
    wavefront.run()
    net = assemble_faces(wavefront, outline, tol=tol)
    require_sound(net, wavefront, outline, tol=tol)
    return net


def _as_given(outline: Outline, net: RoofNet) -> tuple[tuple[FaceRings, ...], ...]:
    """Put the faces in world coordinates and in the order of the edges as given."""
    x0, y0 = outline.origin
    # The eave keeps its corners to the last bit, off the grid.
    corners = [(x, y, 0.0) for ring in outline.corners for x, y in ring.tolist()]
    nodes = np.array(corners + [(x + x0, y + y0, z) for x, y, z in net.nodes[len(corners) :]])
    faces = iter(net.faces)
    rings = []
    for turned, ring in zip(outline.turned, outline.corners, strict=True):
        placed = [tuple(_placed(nodes, loop) for loop in next(faces)) for _ in ring]
        rings.append(tuple([*placed[-2::-1], placed[-1]] if turned else placed))
    return tuple(rings)


def _placed(nodes: NDArray[np.float64], loop: tuple[int, ...]) -> NDArray[np.float64]:
    ring = nodes[list(loop)]
    ring.flags.writeable = False
    return ring
