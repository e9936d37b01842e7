"""Metal bent up what stands through a roof: one piece through its bend, seated and against it."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from roof3d.details.model import Detail, DetailKind, Piece
from tests.unit.details.every_kind import CASES, detail_of, first_of_each, project_of

INCH = 0.0254
TOUCH = 0.01 * INCH
"""Bodies that share a side lie no further apart than rounding leaves them."""
STANDS_OFF = 0.75 * INCH
"""Leg of apron or pan off the brick: the underlayment between them, and what a leg leans."""
UPRIGHTS = {
    DetailKind.CHIMNEY: ("chimney.1", ("apron.1", "pan.1")),
    DetailKind.PIPE_SHINGLE: ("pipe.1", ("flange.1",)),
    DetailKind.PIPE_MEMBRANE: ("pipe.1", ("flange.1",)),
}
each_upright = pytest.mark.parametrize(
    ("house", "kind"),
    [case for case in CASES if case[1] in UPRIGHTS] + [("plum-corner", DetailKind.CHIMNEY)],
    ids=str,
)


def solid(piece: Piece) -> manifold3d.Manifold:
    triangles = np.array(piece.triangles, dtype=np.uint64)
    return manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(piece.vertices), tri_verts=triangles)
    )


def loose_parts(piece: Piece) -> int:
    """Count bodies of a piece that touch none of those that hang together with its first."""
    first, *others = solid(piece).decompose()
    held, loose = [first], others
    while near := [p for p in loose if any(p.min_gap(q, 2.0 * TOUCH) <= TOUCH for q in held)]:
        held, loose = held + near, [p for p in loose if not any(p is q for q in near)]
    return len(loose)


def detail(house: str, kind: DetailKind, *, thick: bool) -> Detail:
    return detail_of(house, first_of_each(project_of(house))[kind].id, thick=thick)


@pytest.mark.parametrize("thick", [True, False], ids=["drawn", "true"])
@each_upright
def test_bent_metal_is_one_piece_and_reaches_what_stands_there(
    house: str,
    kind: DetailKind,
    thick: bool,  # noqa: FBT001
) -> None:
    found = detail(house, kind, thick=thick)
    upright, names = UPRIGHTS[kind]
    pieces = {piece.id: piece for piece in found.pieces}
    bent = [p for name, p in pieces.items() if name in names]
    bent += [p for p in found.pieces if p.id.startswith("step.") and not p.id.endswith("nail")]
    assert [piece.id for piece in bent if loose_parts(piece)] == []
    stands = solid(pieces[upright])
    gaps = {p.id: solid(p).min_gap(stands, 12.0 * INCH) / INCH for p in bent}
    assert {name: gap for name, gap in gaps.items() if gap > STANDS_OFF / INCH} == {}


def test_two_bodies_apart_are_told() -> None:
    """The count itself, on the metal of one chimney with its leg lifted by half an inch."""
    found = detail("steep 8", DetailKind.CHIMNEY, thick=True)
    apron = next(piece for piece in found.pieces if piece.id == "apron.1")
    leg = max(solid(apron).decompose(), key=lambda part: part.bounding_box()[5])
    foot = solid(apron).decompose()
    assert len(foot) == 2
    moved = leg.translate((0.0, 0.0, 0.5 * INCH))
    others = [part for part in foot if part.bounding_box() != leg.bounding_box()]
    assert min(part.min_gap(moved, INCH) for part in others) > TOUCH
