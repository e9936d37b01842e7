"""Nodes that are one, and what is not a sound roof."""

from __future__ import annotations

from dataclasses import replace

import pytest

from roof3d.skeleton import assembly
from roof3d.skeleton.assembly import RoofNet, require_sound
from roof3d.skeleton.fronts import float_fronts, float_slack
from roof3d.skeleton.outline import UNIT, Outline, read_outline
from roof3d.skeleton.place import Stuck
from roof3d.skeleton.stages import StagedWavefront
from roof3d.tolerance import DEFAULT

SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))


def shrunk() -> tuple[RoofNet, StagedWavefront, Outline]:
    outline = read_outline([SQUARE], [[0.5] * 4], tol=DEFAULT)
    fronts = float_fronts(outline.whole[0], outline.runs[0], UNIT)
    wavefront = StagedWavefront(
        fronts, float_slack(outline.extent, DEFAULT), budget=100, changes=(), cap=None
    )
    wavefront.add_ring(0, list(SQUARE))
    wavefront.run()
    return assembly.assemble_faces(wavefront, outline, tol=DEFAULT), wavefront, outline


def test_faces_of_a_square_start_along_their_eaves() -> None:
    net, _, _ = shrunk()
    (peak,) = {face[0][2] for face in net.faces}
    assert net.nodes[peak] == pytest.approx((2.0, 2.0, 1.0), abs=1e-12)
    assert net.faces == [((0, 1, peak),), ((1, 2, peak),), ((2, 3, peak),), ((3, 0, peak),)]


def test_a_sound_net_is_let_through() -> None:
    net, wavefront, outline = shrunk()
    require_sound(net, wavefront, outline, tol=DEFAULT)


def test_a_corner_off_its_plane_is_found() -> None:
    net, wavefront, outline = shrunk()
    peak = net.faces[0][0][2]
    net.nodes[peak] = (2.0, 2.0, 1.0 + 3e-6)
    with pytest.raises(Stuck, match="off its plane"):
        require_sound(net, wavefront, outline, tol=DEFAULT)


def test_a_face_turned_over_claims_the_side_of_its_neighbour() -> None:
    net, wavefront, outline = shrunk()
    turned = replace(net, faces=[(net.faces[0][0][::-1],), *net.faces[1:]])
    with pytest.raises(Stuck, match="claim one side"):
        require_sound(turned, wavefront, outline, tol=DEFAULT)


def test_a_missing_face_is_found() -> None:
    net, wavefront, outline = shrunk()
    short = replace(net, faces=[(net.faces[0][0][:2],), *net.faces[1:]])
    with pytest.raises(Stuck, match="leave a gap"):
        require_sound(short, wavefront, outline, tol=DEFAULT)


def test_ends_of_an_arc_of_no_length_are_one_node() -> None:
    near = 0.4 * DEFAULT.node_merge
    nodes = [(0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (1.0 + near, 1.0, 1.0), (5.0, 5.0, 5.0)]
    same = assembly._merged(nodes, [[(0, 1), (1, 2), (2, 3)], [(2, 1)]], DEFAULT)
    assert same == [0, 1, 1, 3]


def test_near_nodes_that_no_arc_joins_stay_two() -> None:
    nodes = [(1.0, 1.0, 1.0), (1.0 + 0.1 * DEFAULT.node_merge, 1.0, 1.0), (2.0, 2.0, 2.0)]
    assert assembly._merged(nodes, [[(0, 2), (1, 2)]], DEFAULT) == [0, 1, 2]
