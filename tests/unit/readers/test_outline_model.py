"""A model over an outline: the same walls, to the millimetre."""

from __future__ import annotations

import json
import math

import pytest

from roof3d.errors import ReadError, SpecError
from roof3d.readers.building import BuildingOutline
from roof3d.readers.geojson import parse_outlines
from roof3d.readers.outline_model import FirstRoof, outline_model
from roof3d.spec.model import Units
from roof3d.spec.read import parse_spec
from roof3d.units import parse_length
from tests.outline_data import NAMES, needs_data, outlines

ROOF = FirstRoof(
    units=Units.IMPERIAL, pitch="5:12", eave="9 ft", overhang="16 in", gable_ends=False
)
BARN = ((500_000.1234, 4e6), (500_020.1234, 4e6), (500_020.1234, 4e6 + 9), (500_000.1234, 4e6 + 9))
YARD = ((500_005.0, 4e6 + 3), (500_005.0, 4e6 + 6), (500_008.0, 4e6 + 6), (500_008.0, 4e6 + 3))


def outline(*rings: tuple[tuple[float, float], ...], **more: object) -> BuildingOutline:
    members: dict[str, object] = {
        "id": "7",
        "name": "",
        "crs": "EPSG:32632",
        "origin": None,
        "repairs": (),
        "problems": (),
        **more,
    }
    return BuildingOutline(rings=rings, **members)  # type: ignore[arg-type]


def test_the_walls_are_those_of_the_outline_from_its_south_west_corner() -> None:
    text = outline_model(outline(BARN, YARD), ROOF, source="site.geojson")
    spec = parse_spec(text)
    (section,) = spec.sections
    assert section.outline is not None
    assert section.outline.rings == (
        ((0.0, 0.0), (20.0, 0.0), (20.0, 9.0), (0.0, 9.0)),
        ((4.877, 3.0), (4.877, 6.0), (7.877, 6.0), (7.877, 3.0)),
    )
    assert (spec.name, spec.units, section.pitch) == ("Outline 7", Units.IMPERIAL, 5 / 12)
    assert section.eave == parse_length("9 ft")
    assert {e.overhang for row in section.outline.edges for e in row} == {parse_length("16 in")}
    assert "zero here is (500000.123, 4000000.000) there" in text
    assert "# 1: 29' 6 5/16\" to corner 2" in text  # 9 m


def test_gable_ends_stand_on_the_short_walls() -> None:
    for ring, expected in ((BARN, [1, 3]), (BARN[1:] + BARN[:1], [0, 2])):
        roof = FirstRoof(
            units=Units.METRIC, pitch="30 deg", eave="3 m", overhang="40 cm", gable_ends=True
        )
        (section,) = parse_spec(outline_model(outline(ring), roof, source="s")).sections
        assert section.outline is not None
        row = section.outline.edges[0]
        assert [at for at in range(4) if math.isinf(row[at].pitch)] == expected


def test_gable_ends_of_other_outlines_are_not_guessed() -> None:
    roof = FirstRoof(units=Units.METRIC, pitch="6:12", eave="3 m", overhang="0 m", gable_ends=True)
    for found in (outline(BARN, YARD), outline(BARN[:3])):
        with pytest.raises(ReadError, match="is not guessed"):
            outline_model(found, roof, source="s")


@pytest.mark.parametrize(
    ("key", "value"),
    [("pitch", "6"), ("eave", "0 ft"), ("overhang", "99 ft"), ("eave", '9" x'), ("pitch", "0:12")],
)
def test_a_wrong_measure_is_told_by_its_option(key: str, value: str) -> None:
    measures = {"pitch": "6:12", "eave": "9 ft", "overhang": "1 ft", key: value}
    with pytest.raises(SpecError) as caught:
        outline_model(
            outline(BARN),
            FirstRoof(units=Units.IMPERIAL, gable_ends=False, **measures),
            source="s",
        )
    assert {fault.where for fault in caught.value.faults} == {f"--{key}"}


def test_an_outline_that_cannot_be_roofed_is_refused() -> None:
    touching = (BARN[0], *YARD[1:])
    with pytest.raises(ReadError, match=r'outline "7": cannot be roofed: courtyard\[0\]\[0\]'):
        outline_model(outline(BARN, touching), ROOF, source="site")
    with pytest.raises(ReadError, match="encloses nothing"):
        outline_model(outline(problems=("encloses nothing",)), ROOF, source="site")


def test_words_of_the_file_do_no_harm_in_the_model() -> None:
    nasty = '"]\\ \x1b # \u2028 \ud800' + "x" * 200
    document = {
        "type": "Feature",
        "id": nasty,
        "properties": {"name": nasty},
        "geometry": {"type": "Polygon", "coordinates": [[*map(list, BARN)]]},
        "crs": {"type": "name", "properties": {"name": nasty}},
    }
    (found,) = parse_outlines(json.dumps(document))
    spec = parse_spec(outline_model(found, ROOF, source=nasty))
    assert spec.name == '"]\\ ? # ? ?' + "x" * 109
    assert outline_model(found, ROOF, source=nasty).encode()


def test_corners_that_fall_together_on_the_millimetre_are_one() -> None:
    ring = (*BARN[:2], (BARN[1][0], BARN[1][1] + 4e-4), *BARN[2:])
    (section,) = parse_spec(outline_model(outline(ring), ROOF, source="s")).sections
    assert section.outline is not None
    assert len(section.outline.rings[0]) == 4


@needs_data
@pytest.mark.parametrize("name", NAMES)
def test_every_open_outline_becomes_a_model_that_reads(name: str) -> None:
    features = [
        {"type": "Feature", "id": key, "geometry": {"type": "Polygon", "coordinates": rings}}
        for key, rings in outlines(name).items()
    ]
    document = {"type": "FeatureCollection", "features": features}
    for found in parse_outlines(json.dumps(document)):
        (section,) = parse_spec(outline_model(found, ROOF, source=name)).sections
        assert section.outline is not None
        given, written = found.rings, section.outline.rings
        assert [len(ring) for ring in given] == [len(ring) for ring in written]
        # Each corner moved by no more than half a millimetre each way.
        dx, dy = (min(p[k] for p in given[0]) for k in (0, 1))
        off = [
            max(abs(a[0] - dx - b[0]), abs(a[1] - dy - b[1]))
            for one, two in zip(given, written, strict=True)
            for a, b in zip(one, two, strict=True)
        ]
        assert max(off) < 1.001e-3
