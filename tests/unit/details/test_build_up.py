"""Pieces of any outline laid on one another, flat and over every kind of bend."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from roof3d.catalog.load import load_catalog
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Frame
from roof3d.details.frames import frame_at_break, frame_at_drop, frame_at_wall, frame_on_plane
from roof3d.details.model import INCH, Footprint, PieceKind
from roof3d.details.options import DetailOptions
from roof3d.details.shapes.ground import Top, bands
from roof3d.details.shapes.solids import extruded
from roof3d.units import Units
from tests.unit.details.hand_joints import hand_joint, pitched
from tests.unit.details.solid_checks import open_or_inside_out, shared_area

DRAWN = DetailOptions(thickness_factor=4.0, least_thickness=0.5 * INCH)
SIZE = (1.2, 0.9, 0.8)


def frames() -> dict[str, tuple[Frame, bool]]:
    """A frame of each kind, and whether pieces fold over its line."""
    valley, edge = hand_joint(pitched(6, 40), pitched(8, -20))
    hip, hip_edge = hand_joint(pitched(6), pitched(8, 150), convex=True)
    low, low_edge = hand_joint(pitched(1), pitched(6))
    plane = low.plane("steep")
    return {
        "bend": (frame_at_break(low_edge.ends, low.plane("low"), plane), False),
        "valley": (frame_at_break(edge.ends, valley.plane("low"), valley.plane("steep")), False),
        "hip": (frame_at_break(hip_edge.ends, hip.plane("low"), hip.plane("steep")), False),
        "eave": (frame_at_drop(low_edge.ends, plane), True),
        "wall": (frame_at_wall(low_edge.ends, plane), True),
        "flat": (frame_on_plane((0.0, 0.0, 1.0), plane), False),
    }


FRAMES = frames()
each_frame = pytest.mark.parametrize("name", FRAMES)


def build_up(name: str) -> BuildUp:
    frame, folded = FRAMES[name]
    return BuildUp(
        frame=frame,
        catalog=load_catalog(),
        options=DRAWN,
        units=Units.IMPERIAL,
        size=SIZE,
        folded=folded,
    )


PatchNumbers: TypeAlias = tuple[
    Face | None,
    tuple[float, float, int, int, int],
    tuple[float, float],
    tuple[float, float],
]
EIGHTHS = st.integers(-8, 8).map(lambda k: k / 16)
AXES = st.sampled_from([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.6, 0.8), (-0.8, 0.6)])
PATCHES = st.tuples(
    st.sampled_from([Face.NEAR, Face.FAR, None]),
    st.tuples(EIGHTHS, EIGHTHS, st.integers(2, 10), st.integers(2, 10), st.integers(-3, 3)),
    AXES,
    st.sampled_from([(1.0, 1.0), (1.0, 0.45)]),
)
# What bends over an outside corner is straight from its mitre, past the line, to where it next
# turns. Where a tapered piece below falls away from the line that chord dips by its slope times
# how far past the mitre lies: 0.12 mm over 62 mm, 3.7 mm2, for one that is 14 mm thick.
SLIVER = {"hip": 2e-5}
MATERIALS = ("granule-cap", "membrane-edge-metal", "laminated-shingle")


def outline_of(
    face: Face | None, numbers: tuple[float, float, int, int, int], *, folded: bool
) -> list[list[float]]:
    """A leaning quadrilateral; on one face it stays on its own side of the line.

    A folded one has legs longer than what may lie below is thick.
    """
    u, s, wide, tall, lean = numbers
    w, h, k = wide / 16, tall / 16, lean / 32
    if face is not None:
        s = -abs(s) - h if face is Face.NEAR else abs(s)
    elif folded:
        s, h = -3 / 16 - abs(s) / 2, 6 / 16 + abs(s) / 2 + h / 2
    return [[u, s], [u + w, s], [u + w + k, s + h], [u + k, s + h]]


@settings(max_examples=25, deadline=None)
@each_frame
@given(patches=st.lists(PATCHES, min_size=2, max_size=5))
def test_patches_are_closed_touch_what_is_below_and_share_no_room(
    name: str, patches: list[PatchNumbers]
) -> None:
    work = build_up(name)
    for number, (face, numbers, wanted, thinning) in enumerate(patches):
        axis = wanted
        # What bends over the line is a sheet or a metal, as thick at one end as at the other.
        taper = thinning if face is not None else (1.0, 1.0)
        # Folded pieces run square to or along the line, as step flashings and aprons do.
        if face is None and work.folded:
            axis = (0.0, 1.0) if abs(axis[1]) > 0.7 else (1.0, 0.0)
        before = list(work.stack.tops)
        outline = shapely.Polygon(outline_of(face, numbers, folded=work.folded))
        laid = work.patch(
            f"patch.{number}",
            "Patch",
            PieceKind.SHEET,
            number + 1,
            MATERIALS[number % 3],
            face,
            [outline],
            axis,
            taper=taper,
        )
        if laid:
            assert open_or_inside_out(work.pieces[-1]) == ""
            new = work.stack.tops[len(before) :]
            found = gaps(work, before, new, work.pieces[-1].footprints, axis)
            # A tapered piece is thinner than that at one end.
            assert min(found) < 1e-6
    shared = shared_area(work.frame, work.pieces, np.linspace(-0.55, 0.57, 12).tolist())
    assert {pair: area for pair, area in shared.items() if area > SLIVER.get(name, 0.0)} == {}


def gaps(
    work: BuildUp,
    before: Sequence[Top],
    new: Sequence[Top],
    footprints: Sequence[Footprint],
    axis: tuple[float, float],
) -> list[float]:
    """Height of a piece's underside over what lay there, at every corner either has."""
    found = []
    for top, footprint in zip(new, footprints, strict=True):
        area = shapely.Polygon(footprint.outline)
        places = [*shapely.get_coordinates(area).tolist()]
        for old in before:
            if old.face is footprint.face:
                shared = shapely.intersection(old.outline, area)
                cuts = [float(t) for t in old.at]
                for low, high in pairwise(cuts) if not shared.is_empty else ():
                    (strip,) = bands(shared, old.axis, np.array((low, high)))
                    places += shapely.get_coordinates(strip).tolist()
        piece = work.pieces[-1]
        thickest = work.thickness(piece.material)
        for u, s in places:
            over = float(np.interp(u * axis[0] + s * axis[1], top.at, top.over))
            below = max(
                (
                    float(np.interp(o.axis[0] * u + o.axis[1] * s, o.at, o.over))
                    for o in before
                    if o.face is footprint.face and o.outline.distance(shapely.Point(u, s)) < 1e-9
                ),
                default=0.0,
            )
            found.append(over - thickest - below)
    return found


def test_what_bends_over_a_hip_dips_into_a_tapered_piece_by_a_hair() -> None:
    """As deep as its slope and how far past the line the mitre lies make it, and no deeper."""
    work = build_up("hip")
    far = [shapely.box(-0.3, 0.0, 0.3, 0.5)]
    over = [shapely.box(-0.1, -0.125, 0.2, 0.0625)]
    for number, (face, outlines, taper) in enumerate(
        ((Face.FAR, far, (1.0, 0.45)), (None, over, (1.0, 1.0)))
    ):
        work.patch(
            f"patch.{number}",
            "Patch",
            PieceKind.SHEET,
            number + 1,
            MATERIALS[number],
            face,
            outlines,
            (0.0, 1.0),
            taper=taper,
        )
    high = work.thickness(MATERIALS[0])
    past = high * np.tan(work.frame.turn / 2.0)
    dip = 0.55 * high / 0.5 * past
    ((_, area),) = shared_area(work.frame, work.pieces, [0.05]).items()
    assert 0.0 < area < 0.5 * dip * (0.0625 + past)


def test_shingles_over_the_metal_of_an_eave_clear_each_other() -> None:
    """Overhang past the edge: each lies flat on over the metal's bend, none dips into it."""
    work = build_up("eave")
    work.sheet("felt", "Felt", PieceKind.SHEET, 1, "felt-underlayment", (-0.9, 0.0))
    work.sheet("metal", "Metal", PieceKind.METAL, 2, "membrane-edge-metal", (-0.05, 0.04))
    flow = work.frame.flow(Face.NEAR)
    assert flow == pytest.approx((0.0, 1.0))
    for number in range(3):
        s = 0.009 - number * 5 * INCH
        outlines = [shapely.box(u, s - 12 * INCH, u + 0.39, s) for u in (-0.6, -0.2, 0.2)]
        work.patch(
            f"course.{number}",
            "Course",
            PieceKind.SHINGLE,
            3,
            "laminated-shingle",
            Face.NEAR,
            outlines,
            (0.0, -1.0),
            taper=(1.0, 0.45),
        )
    assert [open_or_inside_out(piece) for piece in work.pieces] == [""] * 5
    assert shared_area(work.frame, work.pieces, [-0.4, 0.05, 0.3]) == {}
    first = work.pieces[2].footprints
    assert [max(f.outline[:, 1]) for f in first] == pytest.approx([0.009] * 3)


def test_step_flashings_lie_between_their_courses() -> None:
    """A course, its step over it, the next course over that step; the wall leg on the wall."""
    roof, _ = hand_joint(pitched(0.5), pitched(6))
    ring = roof.plane("steep").outline
    frame = frame_at_wall((ring[1], ring[2]), roof.plane("steep"))
    work = BuildUp(
        frame=frame,
        catalog=load_catalog(),
        options=DRAWN,
        units=Units.IMPERIAL,
        size=SIZE,
        folded=True,
    )
    flow = frame.flow(Face.NEAR)
    assert flow is not None
    assert np.abs(flow) == pytest.approx((1.0, 0.0), abs=1e-9)
    up = -round(flow[0])
    exposure, leg = 5 * INCH, 4 * INCH
    for k in range(6):
        foot = -0.45 + k * exposure
        u = sorted((up * foot, up * (foot + 12 * INCH)))
        work.patch(
            f"course.{k}",
            "Course",
            PieceKind.SHINGLE,
            2,
            "laminated-shingle",
            Face.NEAR,
            [shapely.box(u[0], -0.6, u[1], -0.25 * INCH)],
            (float(up), 0.0),
            taper=(1.0, 0.45),
        )
        low = foot + exposure + 0.5 * INCH
        u = sorted((up * low, up * (low + exposure + 2 * INCH)))
        work.bent(
            f"step.{k}",
            "Step",
            PieceKind.METAL,
            3,
            "membrane-edge-metal",
            (u[0], u[1]),
            (-leg, leg),
            up=float(up),
        )
    assert [open_or_inside_out(piece) for piece in work.pieces] == [""] * 12
    assert shared_area(frame, work.pieces, np.linspace(-0.4, 0.5, 15).tolist()) == {}
    thick = work.thickness("membrane-edge-metal")
    assert work.stack.highest(Face.FAR, shapely.box(-1, 0.08, 1, 0.09)) < 3.5 * thick
    assert work.stack.highest(Face.NEAR, shapely.box(-1, -0.09, 1, -0.08)) > 4.0 * thick


@each_frame
def test_a_hole_stays_open_and_the_mesh_closed(name: str) -> None:
    work = build_up(name)
    ring = shapely.Point(0.1, -0.4).buffer(0.05, quad_segs=6)
    sheet = shapely.difference(shapely.box(-0.5, -0.8, 0.5, -0.1), ring)
    work.patch("one", "One", PieceKind.SHEET, 1, "granule-cap", Face.NEAR, [sheet], (0.0, 1.0))
    work.patch("two", "Two", PieceKind.SHEET, 2, "granule-cap", Face.NEAR, [sheet], (0.6, 0.8))
    assert [open_or_inside_out(piece) for piece in work.pieces] == ["", ""]
    (footprint,) = work.pieces[0].footprints
    area = shapely.Polygon(footprint.outline, footprint.holes).area
    assert area == pytest.approx(sheet.area)
    thick = work.thickness("granule-cap")
    a, b, c = (work.pieces[0].vertices[work.pieces[0].triangles[:, k]] for k in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0
    assert volume == pytest.approx(sheet.area * thick, rel=1e-9)


@pytest.mark.parametrize("sides", [3, 4, 24])
def test_an_extruded_outline_has_the_volume_of_a_prism(sides: int) -> None:
    turn = np.arange(sides) * 2.0 * np.pi / sides
    ring = [(float(x), float(y), 2.0) for x, y in zip(np.cos(turn), np.sin(turn), strict=True)]
    body = extruded(ring[:: 1 if sides % 2 else -1], (0.1, 0.2, -0.7))
    a, b, c = (body.vertices[body.triangles[:, k]] for k in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0
    assert volume == pytest.approx(0.7 * sides / 2.0 * np.sin(2.0 * np.pi / sides))
