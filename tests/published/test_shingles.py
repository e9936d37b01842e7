"""Printed counts of shingles and their nails, found again by laying and nailing them."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from roof3d.catalog.laying import Nailing
from roof3d.catalog.material import Material, MaterialForm
from roof3d.layout.nails.shingles import nail_shingles
from roof3d.layout.shingles import ShingleRun, lay_shingles

INCH = 0.0254
FOOT = 12 * INCH
STRIP = Material(
    id="strip", name="Strip shingle", form=MaterialForm.SHINGLE, purpose="", source="",
    width=12 * INCH, length=36 * INCH, exposure=5 * INCH, course_offset=6 * INCH,
    stagger=4 * INCH, shortest=0.0,
)  # fmt: skip
NAILING = Nailing(
    fastener="nail", source="", per_piece=4, per_piece_wind=6, line=6 * INCH, inset=1 * INCH
)


def lay(width: float, height: float, material: Material) -> ShingleRun:
    """Lay a rectangle, sizes in feet."""
    return lay_shingles(
        shapely.box(0, 0, width * FOOT, height * FOOT), low=0.0, material=material, from_high=False
    )


def shown(run: ShingleRun, material: Material) -> float:
    """Return how many whole shingles the exposed parts make up."""
    boxes = run.pieces.boxes
    return float((boxes[:, 2] - boxes[:, 0]).sum() / material.length)


# 80 strips of 12 x 36 in a square at 5 in, 65 metric ones of 13 1/4 x 39 3/8 in at 5 5/8 in:
# renovation handbook (strip sizes read, counts derived from them). 10 ft by 10 ft is 24 courses of
# 3 1/3 strips. The metric exposure does not divide 10 ft, so its count is taken on a plane of 64
# whole courses, 30 ft high, and 10 ft wide.
def test_a_square_takes_80_strips() -> None:
    run = lay(10, 10, STRIP)
    assert len(run.courses) == 24
    assert shown(run, STRIP) == pytest.approx(80, rel=1e-9)


def test_a_square_takes_65_metric_strips() -> None:
    metric = replace(STRIP, width=13.25 * INCH, length=39.375 * INCH, exposure=5.625 * INCH)
    run = lay(10, 30, metric)
    assert len(run.courses) == 64
    assert round(shown(run, metric) / 3) == 65


# 4 nails a strip at least and 6 in high wind (IRC R905.2.6): 320 and 480 a square at 80 strips
# (arithmetic). 30 ft by 10 ft is 3 squares and 24 courses. Strips of 36 in divide it, and
# without a shift every one of the 240 is whole.
@pytest.mark.parametrize(("high_wind", "a_square"), [(False, 320), (True, 480)])
def test_a_square_takes_320_nails_and_480_in_high_wind(*, high_wind: bool, a_square: int) -> None:
    plain = replace(STRIP, course_offset=0.0, stagger=0.0)
    run = lay(30, 10, plain)
    assert len(run.pieces) == 3 * 80
    nails = nail_shingles(run.pieces, NAILING, length=plain.length, high_wind=high_wind)
    assert len(nails) == 3 * a_square


# Shingles a square: 14,400 / (width x exposure). *Building Trades Pocketbook*; *Treatise on
# Architecture and Building Construction* vol. 4: 4 in wide at 5 in 720, 6 in wide 480.
def single(width: float) -> Material:
    """A wood shingle 16 in long, as wide as told, shifted by half its width."""
    return replace(
        STRIP, width=16 * INCH, length=width * INCH, course_offset=width / 2 * INCH,
        stagger=1.5 * INCH,
    )  # fmt: skip


@pytest.mark.parametrize(("width", "count"), [(4, 720), (6, 480)])
def test_single_shingles_a_square(width: float, count: int) -> None:
    run = lay(10, 10, single(width))
    assert shown(run, single(width)) == pytest.approx(count, rel=1e-9)
    assert run.least_stagger == pytest.approx(width / 2 * INCH)


# Treatise vol. 4: 24.2 squares of 720 are 17,424; with 5 per cent (871) 18,295. The roof here is
# 24.2 squares, 121 ft by 20 ft: 48 courses of 363 shingles.
def test_a_worked_roof_of_24_2_squares() -> None:
    run = lay(121, 20, single(4))
    count = shown(run, single(4))
    assert (len(run.courses), round(count)) == (48, 17_424)
    assert round(count + 0.05 * count) == 18_295
