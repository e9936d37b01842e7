from __future__ import annotations

from roof3d.geometry.plane import PlanLine
from roof3d.geometry.polygon import chord, clip_left, signed_area, without_repeats

SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))


def test_counterclockwise_area_is_positive_even_far_away() -> None:
    far = tuple((x + 5e5, y + 5e6) for x, y in SQUARE)
    assert (signed_area(far), signed_area(far[::-1])) == (16.0, -16.0)


def test_clip_keeps_the_side_of_the_normal() -> None:
    kept = clip_left(SQUARE, PlanLine(1.0, 0.0, 3.0))
    assert sorted(kept) == [(3.0, 0.0), (3.0, 4.0), (4.0, 0.0), (4.0, 4.0)]


def test_repeated_corners_are_dropped() -> None:
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 1e-9), (0.0, 4.0), (0.0, 1e-9))
    assert without_repeats(ring, merge=1e-6) == ((4.0, 0.0), (0.0, 4.0), (0.0, 1e-9))


def test_chord_runs_on_past_the_ring() -> None:
    piece = chord(SQUARE, PlanLine(0.0, 1.0, 1.0), reach=0.25)
    assert piece is not None
    assert sorted(piece) == [(-0.25, 1.0), (4.25, 1.0)]


def test_line_beside_the_ring_has_no_chord() -> None:
    assert chord(SQUARE, PlanLine(0.0, 1.0, 4.5), reach=0.25) is None


def test_chord_of_a_ring_shrunk_to_a_segment_is_a_short_piece() -> None:
    piece = chord(((2.0, 0.0), (2.0, 4.0)), PlanLine(0.0, 1.0, 1.0), reach=0.25)
    assert piece is not None
    assert sorted(piece) == [(1.75, 1.0), (2.25, 1.0)]
