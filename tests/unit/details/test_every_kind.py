"""Every kind of joint, at every pitch it can have and on the shipped models: sound, and told."""

from __future__ import annotations

from itertools import combinations

import manifold3d
import numpy as np
import pytest

from roof3d.details.model import Detail, DetailKind, Piece, PieceKind
from tests.unit.details.every_kind import CASES, MODELS, detail_of, first_of_each, project_of
from tests.unit.details.solid_checks import open_or_inside_out

CUBIC_CM = 1e-6
DRAWN, TRUE = 5.0 * CUBIC_CM, 0.1 * CUBIC_CM
"""Most room that two pieces may share. True: what rounding leaves. Drawn four times as thick: what
is left where sheets crowd in a bend, as much as a strip half an inch wide and thinner than its
outline along the whole joint."""
INCH = 0.0254
BRIDGED = 0.145 * INCH
"""A stiff piece bridges a lap below it: the thickest sheet, a cap of 0.14 in."""
WORDS = (
    "name", "size", "why", "fastening", "source", "tool", "gear", "mistake", "check",
)  # fmt: skip
each_case = pytest.mark.parametrize(
    ("house", "kind"), CASES, ids=[f"{house}: {kind}" for house, kind in CASES]
)
each_model = pytest.mark.parametrize("model", MODELS, ids=[path.stem for path in MODELS])


def solid(piece: Piece) -> manifold3d.Manifold:
    triangles = np.array(piece.triangles, dtype=np.uint64)
    return manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(piece.vertices), tri_verts=triangles)
    )


def faults_of(detail: Detail) -> list[str]:
    """Say all that is wrong with the solids of a detail; empty where nothing is."""
    drawn = detail.thickness[1] > 0.0
    most, bridged = (DRAWN, BRIDGED * detail.thickness[0]) if drawn else (TRUE, BRIDGED)
    faults = [words for piece in detail.pieces if (words := open_or_inside_out(piece))]
    solids = {p.id: solid(p) for p in detail.pieces if p.kind is not PieceKind.FASTENER}
    pieces = [p for p in detail.pieces if p.id in solids]
    faults += [
        f"{one.id} and {other.id} share {shared / CUBIC_CM:.2f} cm3"
        for one, other in combinations(pieces, 2)
        if (shared := (solids[one.id] ^ solids[other.id]).volume()) > most
    ]
    for number in {piece.layer for piece in pieces} - {1}:
        own = [p for p in pieces if p.layer == number]
        below = [p for p in pieces if p.layer < number]
        if not any(
            solids[one.id].min_gap(solids[other.id], 2.0 * bridged) <= bridged
            for one in own
            for other in reversed(below)
        ):
            faults.append(f"layer {number} lies on nothing")
    return faults


def unsaid(detail: Detail) -> list[str]:
    """Name what is not said of a layer, and numbers out of order."""
    found = [
        f"layer {layer.number} says no {word}"
        for layer in detail.layers
        for word in WORDS
        if not getattr(layer, word).strip()
    ]
    numbers = [layer.number for layer in detail.layers]
    found += [] if numbers == list(range(1, len(numbers) + 1)) else [f"numbers {numbers}"]
    found += [] if len({p.id for p in detail.pieces}) == len(detail.pieces) else ["ids twice"]
    found += [] if detail.notes and all(note.strip() for note in detail.notes) else ["no notes"]
    return found


def test_the_small_houses_have_every_kind() -> None:
    kinds = [kind for _, kind in CASES]
    assert set(kinds) == set(DetailKind)
    assert [kind for kind in DetailKind if kinds.count(kind) < 2] == []


@each_case
def test_every_kind_is_sound_at_every_pitch(house: str, kind: DetailKind) -> None:
    detail = detail_of(house, first_of_each(project_of(house))[kind].id)
    assert (detail.kind, faults_of(detail), unsaid(detail)) == (kind, [], [])


@pytest.mark.parametrize(
    ("house", "kind"),
    [next(case for case in CASES[::-1] if case[1] is kind) for kind in DetailKind],
    ids=list(DetailKind),
)
def test_every_kind_is_sound_at_true_thickness(house: str, kind: DetailKind) -> None:
    place = first_of_each(project_of(house))[kind].id
    assert faults_of(detail_of(house, place, thick=False)) == []


@each_model
def test_the_joints_of_the_shipped_models_are_sound(model: object) -> None:
    name = str(getattr(model, "stem", model))
    faults = {
        place.id: wrong
        for place in first_of_each(project_of(name)).values()
        if (wrong := faults_of(detail := detail_of(name, place.id)) + unsaid(detail))
    }
    assert faults == {}
