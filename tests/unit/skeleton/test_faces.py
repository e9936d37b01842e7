"""The door of the room: faces over any outline."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roof3d.errors import GeometryError, InvariantError
from roof3d.skeleton import faces
from roof3d.skeleton import faces as door
from roof3d.skeleton.place import Stuck
from tests.face_measures import by_edge, plan_area

SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))
COURT = ((1.0, 1.0), (1.0, 3.0), (3.0, 3.0), (3.0, 1.0))


def test_faces_come_by_ring_and_edge() -> None:
    found = faces([SQUARE, COURT], [[0.5] * 4, [1.0] * 4])
    assert [len(ring) for ring in found] == [4, 4]
    # Half a metre of run at 1:1 meets one metre less half at 1:2: at a third of a metre.
    assert {round(float(face[0][:, 2].max()), 12) for ring in found for face in ring} == {
        round(1 / 3, 12)
    }


def test_a_face_starts_along_its_eave_and_is_read_only() -> None:
    ((first, *_),) = faces([SQUARE], [[0.5] * 4])
    (ring,) = first
    assert ring.tolist() == [[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [2.0, 2.0, 1.0]]
    assert not ring.flags.writeable


def test_a_vertical_face_is_seen_from_outside() -> None:
    found = by_edge(faces([SQUARE], [[0.5, math.inf, 0.5, math.inf]]))
    assert found[0, 1][0].tolist() == [[4.0, 0.0, 0.0], [4.0, 4.0, 0.0], [4.0, 2.0, 1.0]]
    assert plan_area(found[0, 1]) == 0.0


def test_a_face_may_have_a_hole() -> None:
    # A small steep cone in the path of a flat front, which closes behind it.
    shell = ((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0))
    chimney = ((12.0, 4.0), (13.0, 6.0), (14.0, 4.0))
    found = faces([shell, chimney], [[0.2, 50.0, 50.0, 50.0], [20.0, 20.0, 20.0]])
    face = found[0][0]
    assert len(face) == 2
    outer, inner = (plan_area([ring]) for ring in face)
    assert outer > 0.0 > inner


def test_corners_given_far_away_come_back_to_the_bit() -> None:
    ring = [(x + 579665.093, y + 5331969.995) for x, y in SQUARE]
    ((first, *_),) = faces([ring], [[0.5] * 4])
    assert first[0][:2, :2].tolist() == [list(corner) for corner in ring[:2]]


def test_arrays_lists_and_tuples_are_one() -> None:
    one = faces([np.array(SQUARE)], [np.full(4, 0.5)])
    two = faces([[list(corner) for corner in SQUARE]], [[0.5] * 4])
    assert all(np.array_equal(a[0], b[0]) for a, b in zip(one[0], two[0], strict=True))


def test_the_exact_kernel_is_asked_where_floats_get_stuck(monkeypatch: pytest.MonkeyPatch) -> None:
    module = __import__(door.__module__, fromlist=["_run"])
    asked = []
    really = module._run

    def run(*arguments: object, exact: bool, **options: object) -> object:
        asked.append(exact)
        if not exact:
            raise Stuck("floats cannot tell")
        return really(*arguments, exact=exact, **options)

    monkeypatch.setattr(module, "_run", run)
    assert len(faces([SQUARE], [[0.5] * 4])[0]) == 4
    assert asked == [False, True]


def test_an_exact_kernel_that_gets_stuck_is_our_bug(monkeypatch: pytest.MonkeyPatch) -> None:
    module = __import__(door.__module__, fromlist=["_run"])

    def run(*_: object, **__: object) -> object:
        raise Stuck("no way on")

    monkeypatch.setattr(module, "_run", run)
    with pytest.raises(InvariantError, match="no way on"):
        faces([SQUARE], [[0.5] * 4])


def test_what_never_closes_is_an_error_of_the_outline() -> None:
    legs = ((0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10))
    with pytest.raises(GeometryError) as caught:
        faces([legs], [[math.inf] * 6 + [0.5, math.inf]])
    assert caught.value.code == "R3D-UNBOUNDED"


def test_faces_of_a_turned_ring_come_in_the_order_of_its_edges_as_given() -> None:
    ring = ((0.0, 4.0), (9.0, 4.0), (9.0, 0.0), (0.0, 0.0))
    with pytest.warns(UserWarning, match="turned the exterior"):
        found = faces([ring], [[0.25, 0.5, 1.0, math.inf]])
    eaves = [{tuple(corner[:2]) for corner in face[0][:2].tolist()} for face in found[0]]
    assert eaves == [{ring[k], ring[(k + 1) % 4]} for k in range(4)]
    # Each rises at its own slope: the one from (9, 4) to (9, 0) by half a metre in a metre.
    corner = found[0][1][0][2]
    assert corner[2] == pytest.approx(0.5 * (9.0 - corner[0]))


def test_planes_that_never_close_are_told_with_ring_and_vertex() -> None:
    legs = [(0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10)]
    upright = [math.inf] * 6 + [1.0, math.inf]
    with pytest.raises(GeometryError, match=r"ring 0, vertex \d: .*never close") as caught:
        faces([legs], [upright])
    assert caught.value.code == "R3D-UNBOUNDED"
