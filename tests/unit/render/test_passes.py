"""Rasterising: exact numbers, exact depth, light and shadow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from roof3d.errors import GeometryError
from roof3d.render.camera import Camera, direction_from, fit_camera
from roof3d.render.machine import require_graphics
from roof3d.render.passes import Light, RasterPart, faded, rasterise, rasterise_numbers
from roof3d.render.visibility import split_line, split_lines

require_graphics()
SIZE = (200, 150)
SQUARE = np.array([[0, 1, 2], [0, 2, 3]])


def board(number: int, x: tuple[float, float], y: float, z: tuple[float, float]) -> RasterPart:
    """An upright board that faces south."""
    corners = [(x[0], y, z[0]), (x[1], y, z[0]), (x[1], y, z[1]), (x[0], y, z[1])]
    return RasterPart(
        number=number, vertices=np.array(corners), triangles=SQUARE, colour=(0.8, 0.6, 0.4)
    )


BACK = board(7, (0.0, 10.0), 5.0, (0.0, 6.0))
FRONT = board(9, (2.0, 4.0), 1.0, (0.0, 6.0))
NO_SUN = Light(shadow=1.0)


def front_view(*parts: RasterPart) -> Camera:
    points = np.concatenate([part.vertices for part in parts])
    return fit_camera(points, direction_from(180.0, 0.0), SIZE)


@pytest.mark.parametrize("far", [0.0, 500_000.0])
def test_the_nearer_board_is_in_front_at_exactly_its_pixels(far: float) -> None:
    parts = [
        replace(part, vertices=part.vertices + np.array([far, far, 0.0])) for part in (BACK, FRONT)
    ]
    camera = front_view(*parts)
    ids = rasterise_numbers(parts, camera).fine_ids
    rows, columns = np.nonzero(ids == 9)
    pixels, _ = camera.project(parts[1].vertices)
    # A fine pixel belongs to the board where its middle does: two to a pixel.
    wanted = np.ceil(2.0 * pixels[:, 0].min() - 0.5), np.floor(2.0 * pixels[:, 0].max() - 0.5)
    assert abs(columns.min() - wanted[0]) <= 1
    assert abs(columns.max() - wanted[1]) <= 1
    assert set(np.unique(ids)) == {0, 7, 9}
    assert len(rows) == (np.ptp(columns) + 1) * (np.ptp(rows) + 1)


def test_depth_is_the_distance_behind_the_middle_of_the_scene() -> None:
    raster = rasterise_numbers([BACK, FRONT], front_view(BACK, FRONT))
    front, back = (float(np.median(raster.fine_depth[raster.fine_ids == k])) for k in (9, 7))
    assert back - front == pytest.approx(4.0, abs=1e-5)
    assert np.isinf(raster.fine_depth[raster.fine_ids == 0]).all()


def test_numbers_beyond_a_byte_are_told_apart() -> None:
    parts = [board(1000 + k, (k, k + 1.0), 0.0, (0.0, 9.0)) for k in range(12)]
    ids = rasterise_numbers(parts, front_view(*parts)).ids
    assert set(np.unique(ids)) - {0} == set(range(1000, 1012))


def test_an_unlit_part_keeps_its_colour_and_paper_is_paper() -> None:
    part = replace(BACK, lit=False)
    raster = rasterise([part], front_view(part), paper=(0.5, 0.25, 1.0), light=NO_SUN)
    inside = {tuple(c) for c in raster.colour[raster.ids == 7].tolist()}
    assert (204, 153, 102) in inside
    assert {tuple(c) for c in raster.colour[raster.ids == 0].tolist()} <= {(128, 64, 255)}


def test_a_texture_is_asked_with_points_of_the_part() -> None:
    seen = []

    def stripes(away: np.ndarray, place: np.ndarray) -> np.ndarray:
        points = away + place
        seen.append(points)
        return np.where(points[:, 0] < 5.0, 1.0, 0.5)

    part = replace(BACK, lit=False, texture=stripes)
    raster = rasterise([part], front_view(part), light=NO_SUN)
    assert np.abs(seen[0][:, 1] - 5.0).max() < 1e-5
    assert (seen[0][:, [0, 2]].min() > 0.0, seen[0].max() < 10.0) == (True, True)
    row = raster.colour[75]
    assert (row[20].tolist(), row[180].tolist()) == ([204, 153, 102], [102, 76, 51])


def test_the_front_board_throws_its_shadow_on_the_back_one() -> None:
    parts = [replace(part, lit=False) for part in (BACK, FRONT)]
    light = Light(sun=(-1.0, -1.0, 0.001), shadow=0.5)
    camera = front_view(*parts)
    colour = rasterise(parts, camera, light=light).colour
    # The sun stands in the south-west: 4 m behind, the shadow lies 4 m to the east.
    for x, dark in ((1.0, False), (5.5, False), (7.0, True), (8.5, False)):
        column = int(camera.pixel((x, 5.0, 3.0))[0])
        assert (colour[75, column, 0] == 102, x) == (dark, x)


def test_a_rim_darkens_borders_of_outlined_parts_only() -> None:
    parts = [replace(part, lit=False) for part in (BACK, FRONT)]
    camera = front_view(*parts)
    plain = rasterise(parts, camera, light=NO_SUN).colour
    rimmed = rasterise(parts, camera, light=NO_SUN, rim=0.5).colour
    bare = [replace(part, outlined=False) for part in parts]
    unrimmed = rasterise(bare, camera, light=NO_SUN, rim=0.5).colour
    edge = int(camera.pixel((2.0, 1.0, 3.0))[0])
    assert rimmed[75, edge, 0] < plain[75, edge, 0]
    assert np.array_equal(unrimmed, plain)


def test_two_runs_are_equal_to_the_last_bit() -> None:
    one, two = (rasterise([BACK, FRONT], front_view(BACK, FRONT), rim=0.6) for _ in range(2))
    assert (one.colour.tobytes(), one.fine_depth.tobytes()) == (
        two.colour.tobytes(),
        two.fine_depth.tobytes(),
    )


def test_a_texture_is_asked_once_where_one_triangle_fills_a_pixel() -> None:
    asked = []

    def texture(away: np.ndarray, _: np.ndarray) -> np.ndarray:
        asked.append(len(away))
        return np.ones(len(away))

    part = replace(BACK, texture=texture)
    ids = rasterise([part], front_view(part), light=NO_SUN).fine_ids
    # Fine pixels: four to a pixel, but for the two triangles' seam and the rim.
    assert 0.25 <= sum(asked) / np.count_nonzero(ids) < 0.3


def test_a_raster_painted_anew_is_as_if_drawn_anew() -> None:
    camera = front_view(BACK, FRONT)
    other = [replace(part, colour=(0.1, 0.5, 0.9)) for part in (BACK, FRONT)]
    found = rasterise([BACK, FRONT], camera, light=NO_SUN)
    painted = rasterise(other, camera, light=NO_SUN, found=found)
    fresh = rasterise(other, camera, light=NO_SUN)
    assert np.array_equal(painted.colour, fresh.colour)
    assert not np.array_equal(painted.colour, found.colour)


def test_what_is_faded_goes_a_share_of_the_way_to_the_paper() -> None:
    parts = [replace(part, lit=False) for part in (BACK, FRONT)]
    raster = rasterise(parts, front_view(BACK, FRONT), light=NO_SUN)
    pale = faded(raster, [9], 0.5)
    full = [(raster.fine_ids[y::2, x::2] == 9) for y in (0, 1) for x in (0, 1)]
    inside, outside = np.logical_and.reduce(full), ~np.logical_or.reduce(full)
    assert {tuple(c) for c in pale.colour[inside].tolist()} == {(230, 204, 178)}
    assert np.array_equal(pale.colour[outside], raster.colour[outside])
    assert np.array_equal(faded(raster, [9], 0.0).colour, raster.colour)


def test_what_lies_off_the_picture_is_cut_off_at_its_edge() -> None:
    whole = front_view(BACK, FRONT)
    near = replace(whole, pixels_per_metre=4.0 * whole.pixels_per_metre)
    raster = rasterise_numbers([BACK, FRONT], near)
    pixels, _ = near.project(FRONT.vertices)
    seen = np.nonzero(raster.fine_ids[150] == 9)[0]
    assert raster.fine_ids.shape == (300, 400)
    assert (seen.min(), abs(seen.max() + 1 - 2.0 * pixels[:, 0].max()) <= 1.0) == (0, True)
    assert raster.fine_ids.all()
    away = replace(whole, centre=(500.0, 0.0, 0.0))
    assert not rasterise_numbers([BACK, FRONT], away).fine_ids.any()
    assert split_line(rasterise_numbers([BACK], away), away, FRONT.vertices[[1, 2]])[0].visible


def test_the_kept_window_draws_each_size_as_a_fresh_one_would() -> None:
    camera = front_view(BACK, FRONT)
    large = fit_camera(BACK.vertices, direction_from(200.0, 20.0), (640, 480))
    first = rasterise([BACK, FRONT], camera)
    rasterise([FRONT], large)
    again = rasterise([BACK, FRONT], camera)
    assert np.array_equal(first.colour, again.colour)
    assert np.array_equal(first.fine_depth, again.fine_depth)


def test_depth_on_a_tilted_face_is_that_of_its_plane() -> None:
    corners = np.array([(0.0, 0.0, 0.0), (8.0, 0.0, 0.0), (8.0, 6.0, 3.0), (0.0, 6.0, 3.0)])
    part = replace(BACK, vertices=corners)
    camera = fit_camera(corners, direction_from(150.0, 35.0), SIZE)
    raster = rasterise_numbers([part], camera)
    inner = np.array([(2.0, 1.0, 0.5), (4.0, 4.0, 2.0), (7.0, 5.0, 2.5)])
    pixels, depth = camera.project(inner)
    column, row = np.floor(2.0 * pixels).astype(int).T
    # Half a fine pixel away the plane is deeper by less than so much.
    assert np.abs(raster.fine_depth[row, column] - depth).max() < 1.0 / camera.pixels_per_metre


def test_nothing_to_draw_is_refused() -> None:
    empty = replace(BACK, triangles=np.zeros((0, 3), dtype=np.int64))
    with pytest.raises(GeometryError, match="0 triangles"):
        rasterise([empty], front_view(BACK))


def test_a_line_behind_a_board_is_hidden_there_and_seen_elsewhere() -> None:
    camera = front_view(BACK, FRONT)
    raster = rasterise_numbers([BACK, FRONT], camera)
    runs = split_line(raster, camera, ((0.0, 4.5, 3.0), (10.0, 4.5, 3.0)))
    assert [run.visible for run in runs] == [True, False, True]
    left, right = camera.pixel((2.0, 1.0, 3.0))[0], camera.pixel((4.0, 1.0, 3.0))[0]
    assert abs(runs[1].start[0] - left) < 1.5
    assert abs(runs[1].end[0] - right) < 1.5
    assert runs[0].end == runs[1].start


def test_the_edge_of_a_board_is_seen_all_along_its_silhouette() -> None:
    camera = front_view(BACK, FRONT)
    raster = rasterise_numbers([BACK, FRONT], camera)
    (run,) = split_line(raster, camera, FRONT.vertices[[1, 2]])
    assert run.visible


def test_a_line_seen_on_end_has_no_runs() -> None:
    camera = front_view(BACK)
    raster = rasterise_numbers([BACK], camera)
    assert split_line(raster, camera, ((5.0, 0.0, 3.0), (5.0, 9.0, 3.0))) == ()


def test_many_lines_are_split_as_each_alone() -> None:
    camera = front_view(BACK, FRONT)
    raster = rasterise_numbers([BACK, FRONT], camera)
    rng = np.random.default_rng(5)
    lines = rng.uniform((0.0, 0.0, 0.0), (10.0, 9.0, 6.0), (60, 2, 3))
    lines[7, 1] = lines[7, 0]
    split = split_lines(raster, camera, lines)
    assert split == tuple(split_line(raster, camera, line) for line in lines)
    assert split[7] == ()
    assert {run.visible for runs in split for run in runs} == {True, False}
    assert split_lines(raster, camera, []) == ()
