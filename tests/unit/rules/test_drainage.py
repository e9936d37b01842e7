"""Roofs behind parapets: what is told of their outlets and of their walls."""

from __future__ import annotations

import copy
from dataclasses import replace

import pytest

from roof3d.errors import CatalogError, Severity
from roof3d.project import build
from roof3d.rules.drainage_rule import parse_drainage_rule
from roof3d.rules.limits import read_data
from roof3d.spec.model import OpeningKind, OpeningSpec, RoofSpec
from tests.model_text import FOOT, INCH, Block
from tests.parapet_models import with_parapets

DECK = Block(id="deck", form="flat", length=30, width=20, eave=11, pitch=1 / 48)
CODES = ("NO-OUTLET", "NO-OVERFLOW", "PONDING", "OVERFLOW-SILL", "OVERFLOW-SIZE", "SCUPPER-SIZE",
         "SCUPPER-AREA", "DRAIN-HIGH", "PARAPET-LOW", "PARAPET-STOPS", "PARAPET-GUARD")  # fmt: skip


def deck(*openings: OpeningSpec, **wishes: object) -> RoofSpec:
    wishes = {"height": 42 * INCH, "thickness": 8 * INCH, **wishes}
    spec = with_parapets((DECK,), unit="ft", **wishes)  # type: ignore[arg-type]
    return replace(spec, openings=openings)


def drain(name: str = "drain", *, across: float = 8, y: float = 2, **more: object) -> OpeningSpec:
    opening = OpeningSpec(
        id=name,
        kind=OpeningKind.DRAIN,
        at=((20 if name == "drain" else 10) * FOOT, y * FOOT),
        size=(across * INCH, across * INCH),
        turn=0.0,
        height=4 * INCH,
    )
    return replace(opening, **more)  # type: ignore[arg-type]


def scupper(wide: float, high: float, sill: float, *, overflow: bool = True) -> OpeningSpec:
    return OpeningSpec(
        id="scupper",
        kind=OpeningKind.SCUPPER,
        at=(5 * FOOT, 0.0),
        size=(wide * INCH, high * INCH),
        turn=0.0,
        height=high * INCH,
        overflow=overflow,
        sill=sill * INCH,
    )


def told(spec: RoofSpec) -> list[tuple[str, str]]:
    return [
        (finding.code.removeprefix("R3D-"), finding.severity.value)
        for finding in build(spec).findings
        if finding.code.removeprefix("R3D-") in CODES
    ]


GUARDED = [("PARAPET-STOPS", "note")]  # 42 in is high enough for a guard


@pytest.mark.parametrize(
    ("openings", "expected"),
    [
        ((), [("NO-OUTLET", "error")]),
        ((scupper(12, 6, 2),), [("NO-OUTLET", "error")]),
        ((drain(),), [("NO-OVERFLOW", "caution")]),
        ((scupper(12, 6, 0, overflow=False),), [("NO-OVERFLOW", "caution")]),
        # 8 in across opens 50.3 sq in, three times that is 151: 24 by 6.5 is 156.
        ((drain(), scupper(24, 6.5, 2)), [("PONDING", "note")]),
        ((drain(), scupper(24, 6, 2)), [("SCUPPER-AREA", "caution"), ("PONDING", "note")]),
        ((drain(), scupper(48, 3.75, 2)), [("SCUPPER-SIZE", "caution"), ("PONDING", "note")]),
        ((drain(), scupper(24, 6.5, 1)), [("OVERFLOW-SILL", "caution"), ("PONDING", "note")]),
        ((drain(), scupper(24, 6.5, 3)), [("OVERFLOW-SILL", "caution"), ("PONDING", "note")]),
        ((drain(), drain("spare", overflow=True, sill=2 * INCH)), [("PONDING", "note")]),
        (
            (drain(), drain("spare", across=6, overflow=True, sill=2 * INCH)),
            [("OVERFLOW-SIZE", "caution"), ("PONDING", "note")],
        ),
        # 12 ft up the roof it lies 11.33 x 1/4 in above the low point, 2.8 in.
        (
            (drain(y=12), scupper(24, 6.5, 2)),
            [("DRAIN-HIGH", "caution"), ("PONDING", "note")],
        ),
    ],
)
def test_a_deck_walled_in_all_round(
    openings: tuple[OpeningSpec, ...], expected: list[tuple[str, str]]
) -> None:
    assert sorted(told(deck(*openings))) == sorted(expected + GUARDED)


@pytest.mark.parametrize(
    ("sides", "expected"),
    [
        # Free at its low side it drains over it.
        ((1, 2, 3), []),
        # The low side behind a wall, its ends free: it spills there, which is no plan.
        ((0,), [("NO-OUTLET", "caution")]),
        ((0, 1), [("NO-OUTLET", "caution")]),
    ],
)
def test_where_water_runs_over_an_edge(
    sides: tuple[int, ...], expected: list[tuple[str, str]]
) -> None:
    assert sorted(told(deck(sides=(sides,)))) == sorted(expected + GUARDED)


def test_a_deck_that_runs_on_over_a_steep_roof_needs_no_drain() -> None:
    """Its low side stands behind a wall but where a steep roof below takes the water on."""
    shed = replace(DECK, form="shed")
    brow = replace(shed, id="brow", length=20, width=6, at=(5, -6), eave=7, pitch=8 / 12)
    # So thin that the wall's foot lies as low as the edge: 3 in at 1/4 in 12 climb 1/16 in.
    wishes = {"height": 42 * INCH, "thickness": 3 * INCH, "unit": "ft"}
    spec = with_parapets((shed, brow), sides=((0, 1, 2, 3), None), **wishes)  # type: ignore[arg-type]
    low = [edge for edge in build(spec).roof.edges if edge.id.startswith("deck.headwall")]
    assert sum(bool(edge.parapet) for edge in low) == 3
    assert told(spec) == GUARDED
    alone = with_parapets((shed,), sides=((0, 1, 2, 3),), **wishes)  # type: ignore[arg-type]
    assert ("NO-OUTLET", "error") in told(alone)


NORTH = Block(id="north", form="shed", length=30, width=10, at=(0, 10), eave=11, pitch=1 / 48)
SOUTH = replace(NORTH, id="south", at=(30, 10), turn=180.0)


@pytest.mark.parametrize(
    ("openings", "expected"),
    [
        ((), [("NO-OUTLET", "error")]),
        # In the plane that falls north, 4 in from the valley.
        ((drain(y=9.2),), [("NO-OVERFLOW", "caution")]),
    ],
)
def test_planes_that_share_a_valley_share_their_drains(
    openings: tuple[OpeningSpec, ...], expected: list[tuple[str, str]]
) -> None:
    spec = with_parapets((NORTH, SOUTH), height=42 * INCH, thickness=8 * INCH, unit="ft")
    stops = [("PARAPET-STOPS", "note")] * 2
    assert sorted(told(replace(spec, openings=openings))) == sorted(expected + stops)


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        (7, [("PARAPET-LOW", "caution"), ("PARAPET-GUARD", "note")]),
        (8, [("PARAPET-GUARD", "note")]),
        # 18.67 ft of 1/4 in: the low side stands 4.67 in higher.
        (19, [("PARAPET-GUARD", "note")]),
        (20, [("PARAPET-STOPS", "note"), ("PARAPET-GUARD", "note")]),
        (38, [("PARAPET-STOPS", "note"), ("PARAPET-GUARD", "note")]),
        (39, [("PARAPET-STOPS", "note")]),
    ],
)
def test_heights_of_the_wall(height: float, expected: list[tuple[str, str]]) -> None:
    spec = deck(drain(), scupper(24, 4.75, 2), height=height * INCH)
    heights = [one for one in told(spec) if one[0].startswith("PARAPET")]
    assert sorted(heights) == sorted(expected)


def test_water_on_the_roof_is_weighed() -> None:
    found = build(deck(drain(), scupper(24, 6.5, 2))).findings
    (ponding,) = [finding for finding in found if finding.code == "R3D-PONDING"]
    # 62.3 lb a cubic foot, a sixth of a foot deep.
    assert '2" deep' in ponding.message
    assert "10.4 lb/sq ft" in ponding.message
    assert ponding.severity is Severity.NOTE


def test_a_roof_without_parapets_is_told_nothing() -> None:
    spec = deck()
    bare = replace(spec, sections=(replace(spec.sections[0], parapet=None),))
    assert told(bare) == []


@pytest.mark.parametrize(
    ("table", "key", "value", "message"),
    [
        ("overflow", "sill", None, "'sill' is missing"),
        ("overflow", "sill", "two", "cannot be read"),
        ("guard", "least", "39", "cannot be read"),
    ],
)
def test_wrong_data_is_told(table: str, key: str, value: str | None, message: str) -> None:
    data = copy.deepcopy(read_data("drainage.toml"))
    if value is None:
        del data[table][key]
    else:
        data[table][key] = value
    with pytest.raises(CatalogError, match=message):
        parse_drainage_rule(data)
