"""Laws of whole roofs over outlines, alone and overlapping: closed, whole, at home anywhere."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from roof3d.errors import GeometryError
from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.roof.solid import build_solid
from roof3d.spec.model import (
    EdgeSpec,
    Form,
    OutlineSpec,
    OverhangSpec,
    RoofSpec,
    RuleSpec,
    SectionSpec,
    Units,
)
from tests.property.strategies import SETTINGS

SHAPES = (
    ((0, 0), (9, 0), (9, 5), (0, 5)),
    ((0, 0), (12, 0), (12, 8), (8, 8), (8, 14), (0, 14)),
    ((0, 0), (20, 0), (20, 12), (14, 12), (14, 6), (6, 6), (6, 12), (0, 12)),
    ((0, 0), (6, 0), (8, 3), (6, 6), (0, 6)),
    ((0, 0), (5, 0), (5, -4), (11, -4), (11, 0), (16, 0), (16, 8), (0, 8)),
)
PITCH, EAVE = 0.5, 3.0


@st.composite
def sections(draw: st.DrawFn, name: str, overhangs: tuple[float, ...] = (0.0, 0.5)) -> SectionSpec:
    """One outline with gables, pitches and decks at random, its fascia level."""
    shape = draw(st.sampled_from(SHAPES))
    overhang = draw(st.sampled_from(overhangs))
    deck = draw(st.sampled_from((None, None, EAVE + 0.9)))
    edges = []
    for _ in shape:
        kind = (
            "eave" if deck else draw(st.sampled_from(("eave", "eave", "gable", "pitch", "gablet")))
        )
        pitch = {"gable": math.inf, "pitch": draw(st.sampled_from((0.25, 1.0)))}.get(kind, PITCH)
        edges.append(
            EdgeSpec(
                pitch=pitch,
                eave=EAVE if math.isinf(pitch) else EAVE + (pitch - PITCH) * overhang,
                overhang=overhang,
                hip_from=None,
                hip_pitch=0.0,
                gable_from=EAVE + 1.0 if kind == "gablet" else None,
            )
        )
    assume(not all(math.isinf(edge.pitch) for edge in edges))
    return SectionSpec(
        id=name,
        form=Form.OUTLINE,
        length=0.0,
        width=0.0,
        at=(draw(st.integers(-16, 16)) / 2.0, draw(st.integers(-16, 16)) / 2.0),
        turn=math.radians(draw(st.sampled_from((0, 90, 180, 17, 45)))),
        eave=EAVE,
        ridge=EAVE,
        pitch=PITCH,
        pitch_back=PITCH,
        lower_pitch=0.0,
        break_in=0.0,
        overhang=OverhangSpec(eave=overhang, rake=overhang),
        base=0.0,
        open=False,
        assembly="",
        outline=OutlineSpec(
            rings=(tuple((float(x), float(y)) for x, y in shape),),
            edges=(tuple(edges),),
            fall=None,
            deck=deck,
            deck_pitch=draw(st.sampled_from((0.0, 1.0 / 48.0))),
        ),
    )


def spec_of(parts: Sequence[SectionSpec]) -> RoofSpec:
    return RoofSpec(
        version=1,
        name="outlines",
        units=Units.METRIC,
        rules=RuleSpec(low_slope_cutoff=2.0 / 12.0),
        sections=tuple(parts),
        openings=(),
        planes=(),
    )


def built(parts: Sequence[SectionSpec]) -> Roof:
    """Build the roof; planes that never close are refused by name, and are no example."""
    try:
        return build_roof(spec_of(parts))[0]
    except GeometryError as error:
        assume(error.code != "R3D-UNBOUNDED")
        raise


def lengths(roof: Roof) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    for edge in roof.edges:
        found[edge.role.value] += edge.length
    return found


def plan(part: SectionSpec) -> shapely.Polygon:
    cos, sin = math.cos(part.turn), math.sin(part.turn)
    assert part.outline is not None
    return shapely.Polygon(
        [
            (cos * x - sin * y + part.at[0], sin * x + cos * y + part.at[1])
            for x, y in part.outline.rings[0]
        ]
    )


@SETTINGS
@given(sections("a", overhangs=(0.0,)), sections("b", overhangs=(0.0,)))
def test_planes_cover_the_union_of_the_outlines(one: SectionSpec, two: SectionSpec) -> None:
    roof = built([one, two])
    seen = sum(plane.plan_area - plane.covered_plan_area for plane in roof.planes)
    assert seen == pytest.approx(plan(one).union(plan(two)).area, abs=1e-4)


@SETTINGS
@given(sections("a"), sections("b"))
def test_the_building_is_closed(one: SectionSpec, two: SectionSpec) -> None:
    roof = built([one, two])
    solid = build_solid(spec_of([one, two]), roof)
    sides = Counter(
        (a, b) for t in solid.triangles.tolist() for a, b in zip(t, (*t[1:], t[0]), strict=True)
    )
    assert [side for side, count in sides.items() if sides[side[::-1]] != count] == []


@SETTINGS
@given(sections("a"), sections("b"), st.floats(0.0, 6.28))
def test_turning_and_moving_change_no_length(
    one: SectionSpec, two: SectionSpec, angle: float
) -> None:
    cos, sin = math.cos(angle), math.sin(angle)
    moved = [
        replace(
            part,
            at=(cos * part.at[0] - sin * part.at[1] + 5e5, sin * part.at[0] + cos * part.at[1]),
            turn=part.turn + angle,
        )
        for part in (one, two)
    ]
    assert lengths(built(moved)) == pytest.approx(lengths(built([one, two])), abs=1e-3)
