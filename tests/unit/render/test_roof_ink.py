"""Hatches, scale bars and label places of the roof picture."""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from roof3d.render.camera import Camera, direction_from, fit_camera
from roof3d.render.lettering import Box, segments_cross
from roof3d.render.roof_ink.annotate import Field, upright
from roof3d.render.roof_ink.ground import _arms, scale_length
from roof3d.render.roof_ink.hatching import COURSE, STRIP, courses, plane_texture, strips
from roof3d.render.roof_ink.key import EdgeEntry, draw_edge_key
from roof3d.render.roof_ink.palette import STROKES
from roof3d.render.sheet import Sheet
from roof3d.render.visibility import Run
from roof3d.roof.model import Role
from roof3d.units import Units

POINTS = np.array([[0.0, 0.0, 0.0], [12.0, 9.0, 6.0]])
PLACE = st.tuples(st.integers(0, 100), st.integers(0, 100))


def view(azimuth: float) -> Camera:
    return fit_camera(POINTS, direction_from(azimuth, 36.0), (800, 600))


def test_every_role_has_a_stroke_of_its_own() -> None:
    looks = {(s.ink, s.width, s.dash, s.core) for s in STROKES.values()}
    assert (set(STROKES), len(looks)) == (set(Role), len(Role))


def test_course_lines_lie_one_exposure_apart() -> None:
    s = np.arange(0.001, 5.0 * COURSE, 0.001)
    # Off every joint, by keeping to the darkest tone that all columns share.
    tone = np.min([courses(np.full_like(s, u), s, 400.0, 400.0) for u in (0.1, 0.2, 0.3)], axis=0)
    lines = s[np.flatnonzero(np.diff((tone < 0.75).astype(int)) == 1)]
    assert np.abs(lines / COURSE - np.rint(lines / COURSE)).max() < 0.02


def test_courses_too_fine_to_draw_are_joined_by_whole_courses() -> None:
    s = np.arange(0.0005, 3.0, 0.0005)
    # 20 pixels a metre: one course would be 2.9 pixels, so two are drawn as one.
    tone = np.mean([courses(np.full_like(s, u), s, 20.0, 20.0) for u in np.arange(40) / 7], axis=0)
    starts = s[np.flatnonzero(np.diff((tone < tone.mean()).astype(int)) == 1)]
    assert np.median(np.diff(starts)) == pytest.approx(2.0 * COURSE, abs=0.002)


def test_strips_are_as_wide_as_a_roll_exposes() -> None:
    s = np.arange(0.001, 4.0 * STRIP, 0.001)
    tone = np.max([strips(np.full_like(s, u), s, 200.0, 200.0) for u in np.arange(25) / 3], axis=0)
    laps = s[np.flatnonzero(np.diff((tone < 0.65).astype(int)) == 1)]
    assert np.abs(np.diff(laps) - STRIP).max() < 0.003


def test_hatch_is_asked_in_true_lengths_along_and_up_the_slope() -> None:
    asked: dict[str, Any] = {}

    def hatch(u: np.ndarray, s: np.ndarray, per_u: float, per_s: float) -> np.ndarray:
        asked.update(u=u, s=s, per=(per_u, per_s))
        return u

    # 3 in 4 up to the north: a point 4 north and 3 up lies 5 up the slope.
    texture = plane_texture((0.0, 0.75), (1.0, 1.0, 1.0), view(180.0), hatch)
    texture(np.array([[2.0, 5.0, 4.0]], dtype=np.float32), np.array([1.0, 0.0, 0.0]))
    assert (abs(asked["u"][0]), asked["s"][0]) == pytest.approx((2.0, 5.0))


@pytest.mark.parametrize("azimuth", [10.0, 156.0, 232.0, 308.0])
@pytest.mark.parametrize("turn", [0.0, 0.4])
def test_scale_bars_are_level_lengths_along_the_walls(azimuth: float, turn: float) -> None:
    camera = view(azimuth)
    directions = [(math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))]
    for arm, (x, y) in zip(_arms(camera, 3.0, turn), directions, strict=True):
        ends, _ = camera.project(np.array([[0.0, 0.0, 0.0], [3.0 * x, 3.0 * y, 0.0]]))
        step = ends[1] - ends[0]
        sign = -1.0 if step[1] > 0.0 else 1.0
        assert np.abs(np.array(arm) - sign * step).max() < 1e-9
        assert arm[1] <= 0.0


@pytest.mark.parametrize(("units", "one"), [(Units.IMPERIAL, 0.3048), (Units.METRIC, 1.0)])
def test_scale_length_is_the_longest_round_one_that_fits(units: Units, one: float) -> None:
    camera = view(156.0)
    found = scale_length(camera, units, 0.0, (200.0, 90.0))
    round_lengths = [f * 10.0**p * one for p in (-1, 0, 1, 2) for f in (1.0, 2.0, 5.0)]
    fits = []
    for length in round_lengths:
        points = np.array([(0.0, 0.0), *_arms(camera, length, 0.0)])
        fits.append(bool((np.ptp(points, axis=0) <= (200.0, 90.0)).all()))
    assert found == max(n for n, fit in zip(round_lengths, fits, strict=True) if fit)


@given(
    st.lists(st.tuples(PLACE, PLACE), min_size=1, max_size=6),
    PLACE,
    PLACE,
    st.sampled_from([0.0, 90.0, 33.0, -50.0]),
)
def test_counts_over_all_edges_agree_with_one_by_one(
    ends: list[tuple[tuple[int, int], tuple[int, int]]],
    start: tuple[int, int],
    end: tuple[int, int],
    turn: float,
) -> None:
    runs = [Run(start=a, end=b, visible=True) for a, b in ends if a != b]
    field = Field(
        ids=np.zeros((9, 9), np.int32),
        ground=1,
        bounds=(0.0, 0.0, 9.0, 9.0),
        runs={str(k): (run,) for k, run in enumerate(runs)},
        colour=np.zeros((9, 9, 3), np.uint8),
    )
    # Off the whole numbers of the runs, so that rounding decides no case.
    box = Box(centre=(start[0] + 0.37, start[1] + 0.19), width=30.5, height=12.25, turn_deg=turn)
    leader = ((start[0] + 0.31, start[1] + 0.17), (end[0] + 0.53, end[1] + 0.71))
    assert (field.hit_edges(box), field.crossed(*leader)) == (
        sum(box.hit_by(run.start, run.end) for run in runs),
        sum(segments_cross(leader, (run.start, run.end)) for run in runs),
    )


@given(st.floats(-720.0, 720.0))
def test_text_never_stands_on_its_head(turn: float) -> None:
    found = upright(turn)
    assert -90.0 <= found <= 90.0
    half_turns = (found - turn) / 180.0
    assert abs(half_turns - round(half_turns)) < 1e-9


def test_a_long_name_in_the_key_does_not_run_into_its_length() -> None:
    sheet = Sheet((300, 40), "white")
    entry = EdgeEntry(role=Role.SIDEWALL, name="sidewall + parapet", total="49' 0 1/16\"")
    draw_edge_key(sheet, [entry], (0.0, 0.0), 40.0, 300.0, 1, 15.0)
    grey = np.asarray(Image.open(io.BytesIO(sheet.png())).convert("L"))
    inked = np.flatnonzero((grey[:, 72:] < 128).any(axis=0))
    assert np.diff(inked).max() > 10
