"""Whole roofs: a right build raises nothing, and every wrong one is caught."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from roof3d.errors import Finding, Severity
from roof3d.laps.layout import check_layout
from roof3d.laps.model import FaultKind, LapFault
from roof3d.laps.prove import check_laps
from roof3d.units import Units
from tests.unit.laps.wrong_builds import (
    ASSEMBLIES,
    CATALOG,
    INCH,
    MODELS,
    Build,
    build_of,
    forced,
    project_of,
    pulled,
    roof_of,
    shifted,
    shortened,
    swapped,
    turned,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from roof3d.project import Project

SHIPPED = sorted(path.stem for path in MODELS.glob("*.toml"))
PLANES = [(model, plane.id) for model in SHIPPED for plane in roof_of(model).planes]
PORCH, STEEP = ("lantern-street", "porch.south"), ("lantern-street", "main.south")
SKIRT, CORNER = ("tide-house", "house.south_lower"), ("plum-corner", "long.north")


def _faults(build: Build) -> tuple[LapFault, ...]:
    return check_laps(build.surface, build.pieces)


def _told(project: Project) -> list[Finding]:
    """Return what is told of the laps, but for where the proof keeps silent."""
    found = check_layout(project.layout, project.catalog, asked=project.strips_asked)
    return [finding for finding in found if finding.code != "R3D-LAP-UNSEEN"]


def _missed(wrong: Iterable[tuple[str, Build]]) -> list[str]:
    builds = list(wrong)
    assert builds
    return [name for name, build in builds if not _faults(build)]


@pytest.mark.parametrize("model", SHIPPED)
def test_a_shipped_roof_raises_nothing(model: str) -> None:
    """As the models choose their assemblies."""
    assert _told(project_of(model)) == []


@pytest.mark.parametrize("assembly", ASSEMBLIES)
def test_every_assembly_is_laid_right(assembly: str) -> None:
    """On every plane of one shipped model, edges that are nailed and edges that are not."""
    assert _told(project_of("lantern-street", assembly)) == []


@pytest.mark.parametrize("assembly", ["laminated-shingle", "three-tab"])
def test_sheets_that_end_at_a_drain_are_no_back_water(assembly: str) -> None:
    """Water falls into it before it comes to the edge on its low side."""
    assert _told(forced("alder-row", "shop.south", assembly)) == []


@pytest.mark.heavy
@pytest.mark.parametrize(("model", "plane"), PLANES)
def test_every_assembly_is_laid_right_on_one_plane(model: str, plane: str) -> None:
    """One plane after the other of every shipped model, beside what the model chooses."""
    told = {
        assembly: found
        for assembly in ASSEMBLIES
        if (found := _told(forced(model, plane, assembly)))
    }
    assert told == {}


@pytest.mark.heavy
@pytest.mark.parametrize("assembly", ASSEMBLIES)
@pytest.mark.parametrize("model", SHIPPED)
def test_every_assembly_is_laid_right_everywhere(model: str, assembly: str) -> None:
    """On every plane of every shipped model."""
    assert _told(project_of(model, assembly)) == []


@pytest.mark.parametrize(
    ("place", "assembly", "one", "two"),
    [
        # The eave (details D5): metal, then what it is under; vector 12.
        (STEEP, "", "main.eave/drip-edge", "main.south/underlayment"),
        # The rake (D6), wrong build b7.
        (STEEP, "", "main.south/underlayment", "main.rake/drip-edge"),
        # The joint (D1), wrong build b12: a barrier tucked under the cap.
        (STEEP, "", "porch.south/cap", "joint-ice-barrier"),
        (STEEP, "", "porch.south/ply", "joint-ice-barrier"),
        (STEEP, "", "joint-ice-barrier", "main.south/underlayment"),
        (STEEP, "", "joint-starter", "main.south/shingles"),
        (STEEP, "", "main.south/underlayment", "main.south/shingles"),
        (STEEP, "", "main.eave/starter", "main.south/shingles"),
        (STEEP, "", "main.south/shingles", "hip-ridge"),
        (PORCH, "", "porch.south/base", "porch.south/ply"),
        (PORCH, "", "porch.south/ply", "porch.south/cap"),
        (PORCH, "", "porch.eave/edge-metal", "porch.south/cap"),
        (PORCH, "", "porch.rake/edge-metal", "porch.south/cap"),
        (PORCH, "heat-applied-cap", "porch.south/base", "porch.south/cap"),
        (PORCH, "self-adhered-two-ply", "porch.south/ply", "porch.south/cap"),
        (SKIRT, "", "house.eave/drip-edge", "house.south_lower/underlayment"),
        (SKIRT, "", "house.eave/starter", "house.south_lower/shingles"),
        (SKIRT, "", "house.south_lower/shingles", "house.hip/hip-ridge"),
        # Low above steep (D2): metal of the membrane over the top course.
        (SKIRT, "", "house.south_lower/shingles", "edge-metal"),
        (SKIRT, "laminated-shingle", "house.south_lower/shingles", "break-metal"),
        (CORNER, "", "valley-lining", "long.north/underlayment"),
        (CORNER, "", "valley-metal", "long.north/shingles"),
    ],
)
def test_two_layers_in_each_others_turn_are_caught(
    place: tuple[str, str], assembly: str, one: str, two: str
) -> None:
    """Any two that touch and shed."""
    right = build_of(*place, assembly)
    assert _faults(right) == ()
    assert _faults(swapped(right, one, two))


ROWS = [
    (STEEP, "", "main.south/underlayment"),
    (STEEP, "", "main.south/shingles"),
    (STEEP, "three-tab", "main.south/shingles"),
    (SKIRT, "", "house.south_lower/shingles"),
    (PORCH, "", "porch.south/base"),
    (PORCH, "", "porch.south/ply"),
    (PORCH, "", "porch.south/cap"),
    (PORCH, "self-adhered-two-ply", "porch.south/cap"),
    (PORCH, "heat-applied-cap", "porch.south/base"),
    (PORCH, "heat-applied-cap", "porch.south/cap"),
]


@pytest.mark.parametrize(("place", "assembly", "layer"), ROWS)
def test_a_turned_or_short_lap_is_caught(place: tuple[str, str], assembly: str, layer: str) -> None:
    """One pair of courses turned and one lap cut, in the middle of the plane."""
    right = build_of(*place, assembly)
    assert _faults(right) == ()
    backward, short = list(turned(right, layer)), list(shortened(right, layer, 2.5 * INCH))
    middle = max(0, min(len(backward) // 2, len(backward) - 3))
    assert _missed(backward[middle : middle + 1]) == []
    assert _missed(short[len(short) // 2 :][:1]) == []


@pytest.mark.heavy
@pytest.mark.parametrize(("place", "assembly", "layer"), ROWS)
def test_every_turned_or_short_lap_is_caught(
    place: tuple[str, str], assembly: str, layer: str
) -> None:
    """Every pair of courses turned but the last two, which a border may close; every lap cut."""
    right = build_of(*place, assembly)
    backward = list(turned(right, layer))
    assert _missed(backward[:-2] if len(backward) > 2 else backward) == []
    assert _missed(shortened(right, layer, 2.5 * INCH)) == []


@pytest.mark.parametrize(
    ("place", "assembly", "layer"),
    [
        (STEEP, "", "joint-ice-barrier"),
        (STEEP, "", "main.eave/starter"),
        (STEEP, "", "main.south/underlayment"),
        (STEEP, "", "main.south/shingles"),
        (STEEP, "", "hip-ridge"),
        (SKIRT, "", "house.hip/hip-ridge"),
        (SKIRT, "", "edge-metal"),
        (SKIRT, "laminated-shingle", "break-metal"),
        (PORCH, "", "porch.south/cap"),
        (PORCH, "", "porch.south/ply"),
        (PORCH, "", "porch.south/base"),
        (CORNER, "", "valley-lining"),
    ],
)
def test_a_layer_left_out_is_caught(place: tuple[str, str], assembly: str, layer: str) -> None:
    """What closes a head, carries a lower edge or covers, and what no one would see was missing."""
    right = build_of(*place, assembly)
    assert _faults(right.without(*right.layer(layer)))


def test_a_membrane_without_its_base_is_told() -> None:
    """On the whole roof, where no piece of the layer is laid."""
    layout = project_of("lantern-street").layout
    planes = tuple(
        replace(plane, layers=tuple(one for one in plane.layers if one.role != "base"))
        for plane in layout.planes
    )
    found = check_layout(replace(layout, planes=planes), CATALOG)
    told = [one for one in found if one.code == "R3D-LAP-LEFT-OUT"]
    assert [(one.severity, one.where) for one in told] == [
        (Severity.ERROR, "planes[porch.south], layers[porch.south/base]")
    ]


def test_without_the_barrier_at_the_joint_the_membrane_is_open() -> None:
    """Vector 13: the heads of the ply and of the cap lie bare under the shingles."""
    right = build_of(*STEEP)
    faults = _faults(right.without(*right.layer("joint-ice-barrier")))
    bare = {fault.layers[0].split("@")[0] for fault in faults if fault.kind is FaultKind.HEAD_BARE}
    assert {"porch.south/ply", "porch.south/cap"} <= bare


def test_joints_of_shingles_over_each_other_are_caught() -> None:
    """The second course shifted until a joint stands over one of the first."""
    faults = _faults(shifted(build_of(*STEEP), "main.south/shingles"))
    assert FaultKind.STACKED in {fault.kind for fault in faults}


@pytest.mark.parametrize(
    ("place", "layer"), [(STEEP, "main.south/shingles"), (PORCH, "porch.south/cap")]
)
def test_a_nail_in_sight_is_caught(place: tuple[str, str], layer: str) -> None:
    """One more nail in every hundredth piece, where nothing lies over it."""
    wrong = list(pulled(build_of(*place), layer))[::100]
    missed = [
        name
        for name, build in wrong
        if FaultKind.NAIL_BARE not in {fault.kind for fault in _faults(build)}
    ]
    assert wrong
    assert missed == []


def test_a_finding_tells_pieces_numbers_and_place() -> None:
    """The barrier at a joint left out of the layout; in the units that are asked for."""
    right = project_of("lantern-street").layout
    strips = tuple(strip for strip in right.strips if strip.rule != "joint-ice-barrier")
    layout = replace(right, strips=strips)
    feet, metres = (
        check_layout(layout, CATALOG, units=units)[0] for units in (Units.IMPERIAL, Units.METRIC)
    )
    assert feet.code == metres.code == "R3D-LAP-BACK-WATER"
    assert (
        feet.where
        == metres.where
        == "planes[main.south], layers[porch.south/cap], course 6, piece 1"
    )
    assert feet.severity is Severity.ERROR
    assert "UFGS-07550" in feet.source
    assert feet.at == metres.at
    assert feet.at is not None
    for told, unit, size in ((feet, "ft", 0.3048), (metres, "m", 1.0)):
        place = ", ".join(f"{value / size:.2f}" for value in feet.at)
        assert f"at ({place}) {unit} (it meets " in told.message


def test_where_the_proof_keeps_silent_it_says_so() -> None:
    """Once a roof: why, how often, and where the first of each is; never more than a note."""
    (note,) = check_layout(project_of("plum-corner").layout, CATALOG)
    assert note.code == "R3D-LAP-UNSEEN"
    assert note.severity is Severity.NOTE
    assert "the foot or peak of a valley on a plane, 7 in all, the first within 2' 0\" of" in (
        note.message
    )


def test_a_plane_too_large_is_told_and_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its pieces would fill the memory; the others are looked at."""
    layout = project_of("tide-house").layout
    assert check_layout(layout, CATALOG) == ()
    monkeypatch.setattr("roof3d.laps.layout.MOST_PIECES", 200)
    (note,) = check_layout(layout, CATALOG)
    assert "a plane of more than 200 pieces" in note.message


def test_two_thousand_shingles_take_a_moment() -> None:
    """One plane's proof, without what lays it out."""
    right = build_of(*STEEP)
    start = time.perf_counter()
    _faults(right)
    taken = time.perf_counter() - start
    assert taken / len(right.pieces) < 4e-3
