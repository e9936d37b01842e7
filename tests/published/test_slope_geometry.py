"""Printed facts of slope geometry, found again by building roofs and measuring them.

Each check builds a model from its text and reads lengths and areas off the finished roof.
Sources are named beside the checks; a tolerance is half of the last printed digit, or what the
printed rounding of the source's own inputs allows.

Not expressible with sections, and so not here: the 135 degree outside corner (hip run 1.08239
times the common run), faces, nodes and arcs of straight skeletons, and jack rafters (the model
holds roof planes, no framing). A hip between two unequal slopes cannot be typed in either; the
valley of unequal slopes stands for that row.
"""

from __future__ import annotations

import math

import pytest

from roof3d.roof.model import Role
from roof3d.units import format_length
from tests.model_text import (
    FOOT,
    INCH,
    SQUARE_FOOT,
    Block,
    built,
    edges_of,
    plan_total,
    total,
)

#: Arithmetic in double precision on building-sized numbers.
EXACT = 1e-9


# Slope factor of x:12: sqrt(1 + (x/12)^2), of lengths and of areas (elementary).
@pytest.mark.parametrize("rise", [0.25, 1, 2, 3, 5, 8, 12, 18, 24])
def test_slope_factor_multiplies_plan_length_and_plan_area(rise: float) -> None:
    roof = built(Block(length=10, width=24, pitch=rise / 12), unit="ft").roof
    factor = math.sqrt(1 + (rise / 12) ** 2)
    rakes = edges_of(roof, Role.RAKE)
    assert [edge.length / edge.plan_length for edge in rakes] == pytest.approx(
        [factor] * 4, rel=EXACT
    )
    assert [plane.area / plane.plan_area for plane in roof.planes] == pytest.approx(
        [factor] * 2, rel=EXACT
    )
    assert plan_total(rakes) == pytest.approx(48 * FOOT, rel=EXACT)


# Common rafter, inches per foot of run.
# Rises 7, 8, 13, 16: NAVEDTRA 14044 (Builder 3 & 2 vol. 2) ch. 2; Army subcourses EN0069A and
# EN5156. The others: framing-square tables.
COMMON_RAFTER = {
    3: 12.37, 4: 12.65, 5: 13.00, 6: 13.42, 7: 13.89, 8: 14.42, 9: 15.00, 10: 15.62,
    11: 16.28, 12: 16.97, 13: 17.69, 14: 18.44, 15: 19.21, 16: 20.00, 17: 20.81, 18: 21.63,
}  # fmt: skip


@pytest.mark.parametrize(("rise", "inches"), COMMON_RAFTER.items())
def test_common_rafter_per_foot_of_run(rise: int, inches: float) -> None:
    roof = built(Block(length=10, width=2, pitch=rise / 12), unit="ft").roof
    rakes = edges_of(roof, Role.RAKE)  # the run of each is one foot
    assert [edge.length / INCH for edge in rakes] == pytest.approx([inches] * 4, abs=0.005)


# Hip and valley, inches per foot of common run.
# Rise 8: NAVEDTRA 14044 ch. 2. The others: framing-square tables. The printed 9 (19.21) is
# sqrt(2 + (9/12)^2) x 12, derived.
HIP_RAFTER = {
    2: 17.09, 3: 17.23, 4: 17.44, 5: 17.69, 6: 18.00, 7: 18.36, 8: 18.76, 9: 19.21,
    10: 19.70, 11: 20.22, 12: 20.78,
}  # fmt: skip


@pytest.mark.parametrize(("rise", "inches"), HIP_RAFTER.items())
def test_hip_per_foot_of_common_run(rise: int, inches: float) -> None:
    roof = built(Block(form="hip", length=5, width=2, pitch=rise / 12), unit="ft").roof
    hips = edges_of(roof, Role.HIP)  # the common run is one foot
    assert [edge.length / INCH for edge in hips] == pytest.approx([inches] * 4, abs=0.005)


@pytest.mark.parametrize(("rise", "inches"), HIP_RAFTER.items())
def test_valley_per_foot_of_common_run(rise: int, inches: float) -> None:
    # The wing is 2 ft wide: the common run of its valleys is one foot.
    main = Block(id="main", length=20, width=12, pitch=rise / 12)
    wing = Block(id="wing", length=10, width=2, at=(11, -4), turn=90, pitch=rise / 12)
    valleys = edges_of(built(main, wing, unit="ft").roof, Role.VALLEY)
    assert [edge.length / INCH for edge in valleys] == pytest.approx([inches] * 2, abs=0.005)


def _hip_factor(rise: float) -> float:
    """Return hip length over common run, measured on a hip roof of 24 ft width."""
    roof = built(Block(form="hip", length=40, width=24, pitch=rise / 12), unit="ft").roof
    return edges_of(roof, Role.HIP)[0].length / (12 * FOOT)


def test_hip_factor_at_7_in_12_is_not_the_widely_copied_misprint() -> None:
    # A widely copied table prints 1.524; sqrt(2 + (7/12)^2) = 1.5298 (derived).
    assert round(_hip_factor(7), 4) == 1.5298


def test_hip_unit_run_is_16_97_and_not_17() -> None:
    # NAVEDTRA 14044: 16.97 per 12 of common run; older books round to 17, 0.17 % high.
    roof = built(Block(form="hip", length=5, width=2, pitch=8 / 12), unit="ft").roof
    runs = [edge.plan_length / INCH for edge in edges_of(roof, Role.HIP)]
    assert runs == pytest.approx([16.97] * 4, abs=0.005)
    assert runs == pytest.approx([16.9706] * 4, abs=0.00005)


def test_rafter_of_16_ft_span_at_7_in_12() -> None:
    # NAVEDTRA 14044 fig. 2-17: 111 1/8 in = 9 ft 3 1/8 in, to a sixteenth.
    roof = built(Block(length=30, width=16, pitch=7 / 12), unit="ft").roof
    rakes = [edge.length / INCH for edge in edges_of(roof, Role.RAKE)]
    assert [round(rake * 16) / 16 for rake in rakes] == [111.125] * 4
    assert [format_length(rake * INCH) for rake in rakes] == ["9' 3 1/8\""] * 4


def test_rafter_of_20_ft_8_in_width_at_13_in_12() -> None:
    # EN5156 lesson 3: 182.79 in before rounding, 15 ft 3 in after. The source multiplies
    # 10.333 ft by 17.69 in, each rounded: up to 10.333 x 0.005 + 0.0005 x 17.69 = 0.06 in off.
    roof = built(Block(length=30, width=20 + 8 / 12, pitch=13 / 12), unit="ft").roof
    rakes = [edge.length / INCH for edge in edges_of(roof, Role.RAKE)]
    assert rakes == pytest.approx([182.79] * 4, abs=0.06)
    assert [round(rake) for rake in rakes] == [15 * 12 + 3] * 4


def test_hip_of_15_ft_common_run_at_8_in_12() -> None:
    # NAVEDTRA 14044 p. 2-21: hip run 21.21 ft, hip length 23.45 ft.
    roof = built(Block(form="hip", length=50, width=30, pitch=8 / 12), unit="ft").roof
    hips = edges_of(roof, Role.HIP)
    assert [edge.plan_length / FOOT for edge in hips] == pytest.approx([21.21] * 4, abs=0.005)
    assert [edge.length / FOOT for edge in hips] == pytest.approx([23.45] * 4, abs=0.005)


# Miller, Carpenters' Guide: on a rectangle with one slope, ridge = length - width.
@pytest.mark.parametrize(("length", "width"), [(40, 24), (30, 29), (61.5, 20.25)])
def test_ridge_of_a_hip_roof_is_length_less_width(length: float, width: float) -> None:
    roof = built(Block(form="hip", length=length, width=width, pitch=9 / 12), unit="ft").roof
    (ridge,) = edges_of(roof, Role.RIDGE)
    assert ridge.length == pytest.approx((length - width) * FOOT, rel=EXACT)


def test_ridge_of_a_wing_is_half_width_and_projection() -> None:
    # Miller, Carpenters' Guide fig. 23: half width 8 ft, projection 4 ft, wing ridge 12 ft.
    main = Block(id="main", length=60, width=40, pitch=0.5)
    wing = Block(id="wing", length=24, width=16, at=(38, -4), turn=90, pitch=0.5)
    (ridge,) = edges_of(built(main, wing, unit="ft").roof, Role.RIDGE, plane="wing")
    assert ridge.length == pytest.approx(12 * FOOT, rel=EXACT)


def test_equal_pitch_and_unequal_spans() -> None:
    # NAVEDTRA 14044 p. 2-25 and 2-27: the wing's ridge is lower, and its valley is its run
    # (half span of the smaller wing) times the hip and valley factor.
    # Spans 30 and 20 ft at 8:12: ridges at 15 x 8/12 = 10 and 10 x 8/12 = 6 2/3 ft above the
    # eaves at 9 ft; factor sqrt(2 + 4/9); the wing's valleys run 10 ft of common run.
    main = Block(id="main", length=50, width=30, eave=9, pitch=8 / 12)
    wing = Block(id="wing", length=31, width=20, at=(35, -16), turn=90, eave=9, pitch=8 / 12)
    roof = built(main, wing, unit="ft").roof
    heights = {
        section: {z for edge in edges_of(roof, Role.RIDGE, plane=section) for *_, z in edge.ends}
        for section in ("main", "wing")
    }
    assert min(heights["main"]) == pytest.approx(19 * FOOT, rel=EXACT)
    assert max(heights["wing"]) == pytest.approx((9 + 20 / 3) * FOOT, rel=EXACT)
    valleys = [edge.length / FOOT for edge in edges_of(roof, Role.VALLEY)]
    assert valleys == pytest.approx([10 * math.sqrt(2 + 4 / 9)] * 2, rel=EXACT)


# Estimating in Building Construction ch. 14: a regular hip roof has the area of a gable roof
# of the same span, pitch and eave length.
@pytest.mark.parametrize("overhang", [0.0, 1.5])
def test_hip_roof_has_the_area_of_the_gable_roof(overhang: float) -> None:
    areas = [
        sum(
            plane.area
            for plane in built(
                Block(form=form, length=40, width=24, pitch=5 / 12, overhang=(overhang, overhang)),
                unit="ft",
            ).roof.planes
        )
        for form in ("hip", "gable")
    ]
    assert areas[0] == pytest.approx(areas[1], rel=EXACT)
    expected = (40 + 2 * overhang) * (24 + 2 * overhang) * 13 / 12 * SQUARE_FOOT
    assert areas[0] == pytest.approx(expected, rel=EXACT)


def test_1820_sq_ft_of_plan_at_6_in_12() -> None:
    # A trade journal on estimating: factor 1.118034, 13.4164 in per ft; 2,034.82 sq ft
    # (derived). And estimating handbooks: any mix of planes at one slope has the sloped area
    # plan area x slope factor. Main 40 x 28 ft = 1,120; wing 35 ft out, 20 ft wide = 700.
    main = Block(id="main", form="hip", length=40, width=28, pitch=0.5)
    wing = Block(id="wing", length=45, width=20, at=(30, -35), turn=90, pitch=0.5)
    roof = built(main, wing, unit="ft").roof
    assert len(roof.planes) == 6
    plan = sum(plane.plan_area for plane in roof.planes) / SQUARE_FOOT
    area = sum(plane.area for plane in roof.planes) / SQUARE_FOOT
    assert plan == pytest.approx(1820, rel=EXACT)
    assert area == pytest.approx(2034.82, abs=0.005)
    assert area / plan == pytest.approx(1.118034, abs=5e-7)
    rakes = edges_of(roof, Role.RAKE)
    per_foot = [edge.length / edge.plan_length * 12 for edge in rakes]
    assert per_foot == pytest.approx([13.4164] * 2, abs=5e-5)


def test_hip_roof_of_40_by_24_ft_at_6_in_12() -> None:
    # Derived: run 12 ft, rise 6 ft; hip sqrt(12^2 + 12^2 + 6^2) = 18 ft; ridge 16 ft;
    # trapezoid (40 + 16) / 2 x 13.4164 = 375.659, triangle 24 / 2 x 13.4164 = 160.997 sq ft.
    roof = built(Block(form="hip", length=40, width=24, eave=9, pitch=0.5), unit="ft").roof
    (ridge,) = edges_of(roof, Role.RIDGE)
    assert ridge.length == pytest.approx(16 * FOOT, rel=EXACT)
    assert ridge.ends[0][2] == pytest.approx((9 + 6) * FOOT, rel=EXACT)
    hips = [edge.length / FOOT for edge in edges_of(roof, Role.HIP)]
    assert hips == pytest.approx([18.0] * 4, rel=EXACT)
    areas = sorted(plane.area / SQUARE_FOOT for plane in roof.planes)
    assert areas == pytest.approx([160.997, 160.997, 375.659, 375.659], abs=0.0005)
    assert sum(areas) == pytest.approx(1073.313, abs=0.0005)
    assert total(edges_of(roof, Role.EAVE)) == pytest.approx(128 * FOOT, rel=EXACT)


def test_perimeter_times_rafter_over_two_holds_on_squares_only() -> None:
    # A printed rule, "hip roof area = perimeter x rafter / 2", is right on square plans only.
    def both(length: float) -> tuple[float, float]:
        roof = built(Block(form="hip", length=length, width=24, pitch=0.5), unit="ft").roof
        rafter = 12 * FOOT * math.sqrt(1.25)
        area = sum(plane.area for plane in roof.planes)
        return area, total(edges_of(roof, Role.EAVE)) * rafter / 2

    square, by_rule = both(24)
    assert square == pytest.approx(by_rule, rel=EXACT)
    oblong, by_rule = both(40)
    assert oblong / by_rule == pytest.approx(1073.313 / 858.650, rel=1e-6)


# Unequal slopes s1, s2 at a 90 degree corner: the plan line of the valley makes atan(s2 / s1)
# with eave 1 (elementary).
@pytest.mark.parametrize(("first", "second"), [(4, 9), (9, 4), (6, 12), (8, 7)])
def test_valley_of_unequal_slopes(first: float, second: float) -> None:
    main = Block(id="main", length=80, width=60, pitch=first / 12)
    wing = Block(id="wing", length=34, width=8, at=(40, -4), turn=90, pitch=second / 12)
    roof = built(main, wing, unit="ft").roof
    valleys = edges_of(roof, Role.VALLEY)
    angles = []
    for edge in valleys:
        (x0, y0, _), (x1, y1, _) = edge.ends
        angles.append(math.atan2(abs(y1 - y0), abs(x1 - x0)))
    assert angles == pytest.approx([math.atan(second / first)] * 2, rel=EXACT)


def test_pitch_in_framing_manuals_is_rise_over_full_span() -> None:
    # NAVEDTRA 14044; EN5156: 4 in 12 is pitch 1/6 (rise over span), slope is rise in 12 of run.
    roof = built(Block(length=30, width=24, eave=9, pitch=4 / 12), unit="ft").roof
    (ridge,) = edges_of(roof, Role.RIDGE)
    rise = ridge.ends[0][2] - 9 * FOOT
    assert rise / (24 * FOOT) == pytest.approx(1 / 6, rel=EXACT)


def test_a_square_is_100_sq_ft() -> None:
    # EN5156, and exact: 100 sq ft = 9.290304 m2.
    roof = built(Block(form="flat", length=10, width=10, pitch=0.25 / 12), unit="ft").roof
    (plane,) = roof.planes
    assert plane.plan_area == pytest.approx(9.290304, rel=EXACT)


def test_quarter_inch_per_foot_is_1_in_48() -> None:
    # Sometimes printed as 1:50; a quarter inch in twelve is 1:48, 2.083 %.
    roof = built(Block(form="flat", length=48, width=48, eave=10, pitch=0.25 / 12), unit="ft").roof
    (plane,) = roof.planes
    heights = sorted({round(z / FOOT, 9) for *_, z in plane.outline})
    assert heights == [10.0, 11.0]
    assert round(plane.slope * 100, 3) == 2.083


def test_common_rafter_at_rise_2() -> None:
    # Printed as 12.16 or 12.17; sqrt(144 + 4) = 12.1655 (derived).
    roof = built(Block(length=10, width=2, pitch=2 / 12), unit="ft").roof
    rakes = [round(edge.length / INCH, 4) for edge in edges_of(roof, Role.RAKE)]
    assert rakes == [12.1655] * 4
