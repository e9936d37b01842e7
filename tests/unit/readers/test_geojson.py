"""Building outlines from GeoJSON: shapes, windings, degrees, and files that are none."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from roof3d.errors import ReadError
from roof3d.readers.building import DEGREES, BuildingOutline
from roof3d.readers.flat import FLATTENING, SEMI_MAJOR_AXIS, degree_lengths, flattened
from roof3d.readers.geojson import LARGEST_FILE, load_outlines, parse_outlines
from tests.outline_data import NAMES, needs_data, outlines, shared_folder

UTM = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}
SHELL = [[100.0, 200.0], [130.0, 200.0], [130.0, 220.0], [100.0, 220.0], [100.0, 200.0]]
HOLE = [[110.0, 205.0], [110.0, 215.0], [120.0, 215.0], [120.0, 205.0], [110.0, 205.0]]


def polygon(*rings: object) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": list(rings)}


def feature(geometry: object, **members: object) -> dict[str, Any]:
    return {"type": "Feature", "properties": None, "geometry": geometry, **members}


def collection(*features: object, crs: object = UTM) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": list(features), "crs": crs}


def read(document: object) -> tuple[BuildingOutline, ...]:
    return parse_outlines(json.dumps(document))


def refused(text: str) -> str:
    with pytest.raises(ReadError) as caught:
        parse_outlines(text, "site.geojson")
    assert str(caught.value).startswith("site.geojson: ")
    return str(caught.value).removeprefix("site.geojson: ")


def test_a_feature_gives_its_id_its_name_and_open_rings() -> None:
    document = collection(feature(polygon(SHELL, HOLE), id=17, properties={"name": "Boat house"}))
    assert read(document) == (
        BuildingOutline(
            id="17",
            name="Boat house",
            rings=(
                ((100.0, 200.0), (130.0, 200.0), (130.0, 220.0), (100.0, 220.0)),
                ((110.0, 205.0), (110.0, 215.0), (120.0, 215.0), (120.0, 205.0)),
            ),
            crs="urn:ogc:def:crs:EPSG::32632",
            origin=None,
            repairs=(),
            problems=(),
        ),
    )
    assert (read(document)[0].corners, read(document)[0].plan_area) == (8, 500.0)


@pytest.mark.parametrize(
    ("document", "ids"),
    [
        (polygon(SHELL), ["1"]),
        (feature(polygon(SHELL)), ["1"]),
        (feature(polygon(SHELL), id="a-7"), ["a-7"]),
        (feature(polygon(SHELL), properties={"id": 12}), ["12"]),
        (feature(polygon(SHELL), id=True), ["1"]),
        ({"type": "MultiPolygon", "coordinates": [[SHELL], [SHELL]]}, ["1-1", "1-2"]),
        ({"type": "MultiPolygon", "coordinates": [[SHELL]]}, ["1"]),
        (
            {"type": "GeometryCollection", "geometries": [polygon(SHELL), polygon(SHELL)]},
            ["1-1", "1-2"],
        ),
        (
            collection(
                feature({"type": "Point", "coordinates": [1.0, 2.0]}),
                feature(polygon(SHELL)),
                feature(None),
                feature({"type": "MultiPolygon", "coordinates": [[SHELL], [SHELL]]}, id="m"),
            ),
            ["2", "m-1", "m-2"],
        ),
    ],
)
def test_every_polygon_is_found_wherever_it_stands(document: object, ids: list[str]) -> None:
    assert [outline.id for outline in read({**document, "crs": UTM})] == ids  # type: ignore[dict-item]
    assert [outline.plan_area for outline in read({**document, "crs": UTM})] == [600.0] * len(ids)  # type: ignore[dict-item]


def test_what_is_put_right_is_told() -> None:
    shell = [*SHELL[:1], *SHELL[:2], [130.0, 200.0 + 1e-7, 55.0], *SHELL[2:4]]
    (found,) = read(collection(feature(polygon(shell[::-1], HOLE[::-1]))))
    assert {frozenset(ring) for ring in found.rings} == {
        frozenset(map(tuple, SHELL)) - {(130.0, 200.0)} | {(130.0, 200.0 + 1e-7)},
        frozenset(map(tuple, HOLE)),
    }
    assert found.plan_area == pytest.approx(500.0, abs=1e-5)
    assert found.repairs == (
        "exterior was not closed",
        "exterior: repeated corners dropped, 2",
        "exterior ran the wrong way round",
        "hole 1 ran the wrong way round",
    )
    assert found.problems == ()


def test_a_ring_closed_twice_is_closed_once() -> None:
    (found,) = read({**polygon([*SHELL, SHELL[0], SHELL[0]]), "crs": UTM})
    assert found.rings == (tuple((x, y) for x, y in SHELL[:4]),)
    assert found.repairs == ("exterior: repeated corners dropped, 2",)


@pytest.mark.parametrize(
    ("coordinates", "problem"),
    [
        ([], "has no coordinates"),
        (None, "has no coordinates"),
        ([3], "exterior is no list of positions"),
        ([SHELL, [[1.0, "2"]]], "hole 1, position 0: [1.0, '2'] is no place"),
        ([[[1.0]]], "exterior, position 0: [1.0] is no place"),
        ([[[True, 2.0]]], "exterior, position 0: [True, 2.0] is no place"),
        ([[[1e300, 2.0]]], "exterior, position 0: [1e+300, 2.0] is no place"),
        ([[]], "exterior encloses nothing"),
        ([SHELL[:2]], "exterior encloses nothing"),
        ([[SHELL[0], SHELL[1], [110.0, 200.0]]], "exterior encloses nothing"),
        ([SHELL, HOLE[:2]], "hole 1 encloses nothing"),
        (
            [[*SHELL[:2], SHELL[3], SHELL[2]]],
            "crosses or touches itself: self-intersection near",
        ),
        (
            [SHELL, [[x + 100.0, y] for x, y in HOLE]],
            "crosses or touches itself: hole lies",
        ),
        ([[[x * 1000.0, y] for x, y in SHELL]], "is 30 km from end to end"),
    ],
)
def test_an_outline_that_cannot_be_used_says_why_and_stops_no_other(
    coordinates: object, problem: str
) -> None:
    bad = feature({"type": "Polygon", "coordinates": coordinates})
    found = read(collection(bad, feature(polygon(SHELL))))
    assert [outline.id for outline in found] == ["1", "2"]
    assert found[0].problems[0].startswith(problem)
    assert (found[0].rings, found[0].corners, found[0].plan_area) == ((), 0, 0.0)
    assert (found[1].problems, found[1].plan_area) == ((), 600.0)


def test_a_flood_of_corners_is_one_problem() -> None:
    wheel = [[math.cos(k / 4000.0), math.sin(k / 4000.0)] for k in range(20_001)]
    (found,) = read({**polygon(wheel), "crs": UTM})
    assert found.problems == ("has more than 20,000 corners",)


NO_GEOJSON = {
    "empty": ("", "is not JSON: expecting value (line 1, column 1)"),
    "cut off": (
        '{"type": "Polygon",\n "coo',
        "is not JSON: unterminated string starting at",
    ),
    "a list": ("[]", "is JSON, but not GeoJSON: it is no object"),
    "other JSON": ('{"a": 1}', 'is JSON, but not GeoJSON: its "type" is None'),
    "other type": ('{"type": "Topology"}', 'is JSON, but not GeoJSON: its "type" is Topology'),
    "unhashable type": ('{"type": []}', 'is JSON, but not GeoJSON: its "type" is []'),
    "points only": ('{"type": "Point", "coordinates": [1, 2]}', "holds no polygon"),
    "no features": ('{"type": "FeatureCollection"}', "holds no polygon"),
    "odd features": (
        '{"type": "FeatureCollection", "features": [1, null, {}]}',
        "holds no polygon",
    ),
    "NaN": ('{"type": "Polygon", "coordinates": [[[NaN, 1]]]}', "holds NaN, which is no number"),
    "infinity": ('{"type": "Polygon", "coordinates": [[[-Infinity, 1]]]}', "holds -Infinity"),
    "deep": ("[" * 200_000, "is not GeoJSON: its values are nested too deep"),
    "endless number": ('{"type": ' + "9" * 10_000 + "}", "is not JSON: Exceeds the limit"),
}


@pytest.mark.parametrize("name", NO_GEOJSON)
def test_a_text_that_is_no_geojson_is_refused(name: str) -> None:
    text, words = NO_GEOJSON[name]
    assert refused(text).startswith(words)


def test_files_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    latin, large = tmp_path / "latin.geojson", tmp_path / "large.geojson"
    latin.write_bytes(b'{"name": "caf\xe9"}')
    with large.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)
    wrong = {
        tmp_path / "none.geojson": "there is no such file",
        tmp_path: "is a directory",
        latin: "is not UTF-8 text (byte 13)",
        large: "is larger than 50 MB",
        Path("nul\0.geojson"): "cannot be read: embedded null",
    }
    for path, words in wrong.items():
        with pytest.raises(ReadError) as caught:
            load_outlines(path)
        assert (caught.value.where, caught.value.message[: len(words)]) == (str(path), words)


def test_words_of_the_file_cannot_steer_a_terminal_or_fill_a_page() -> None:
    (found,) = read(
        {
            **feature(polygon(SHELL), id="\x1b[31m" + "x" * 500, properties={"name": "a\nb"}),
            "crs": UTM,
        }
    )
    assert (found.id, found.name) == ("?[31m" + "x" * 115, "a?b")


# ---- Degrees --------------------------------------------------------------------------------

# Length of a degree on WGS84, kilometres (latitude, longitude), as general geography tables
# print it (from memory).
PRINTED = {0: (110.574, 111.320), 45: (111.132, 78.847), 60: (111.412, 55.800)}


@pytest.mark.parametrize("latitude", PRINTED)
def test_degrees_are_as_long_as_tables_say(latitude: int) -> None:
    east, north = degree_lengths(float(latitude))
    assert (north / 1000.0, east / 1000.0) == pytest.approx(PRINTED[latitude], abs=1e-3)


def on_the_ellipsoid(longitude: float, latitude: float) -> tuple[float, float, float]:
    """Earth-centred coordinates, by the textbook formula."""
    lam, phi = math.radians(longitude), math.radians(latitude)
    e2 = FLATTENING * (2.0 - FLATTENING)
    n = SEMI_MAJOR_AXIS / math.sqrt(1.0 - e2 * math.sin(phi) ** 2)
    return (
        n * math.cos(phi) * math.cos(lam),
        n * math.cos(phi) * math.sin(lam),
        n * (1.0 - e2) * math.sin(phi),
    )


@pytest.mark.parametrize("latitude", [-60.0, -33.9, 0.0, 48.1, 60.0])
def test_distances_across_a_hundred_metres_are_those_on_the_ellipsoid_within_2_mm(
    latitude: float,
) -> None:
    east, north = degree_lengths(latitude)
    steps = [(x / east / 2.0, y / north / 2.0) for x in (-100, 0, 60) for y in (-100, 30, 100)]
    places = [(-71.3 + dx, latitude + dy) for dx, dy in steps]
    ((*flat,), *_), _ = flattened([places])
    off = [
        abs(math.dist(flat[i], flat[j]) - math.dist(on_the_ellipsoid(*p), on_the_ellipsoid(*q)))
        for i, p in enumerate(places)
        for j, q in enumerate(places[:i])
    ]
    assert max(off) < 2e-3
    assert len(off) == 36


LONGITUDES = [[[11.5 + x / 7.4e4, 48.1 + y / 1.11e5] for x, y in ring] for ring in (SHELL, HOLE)]


@pytest.mark.parametrize(
    "crs", [None, "urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326"]
)
def test_degrees_are_laid_flat_about_the_building(crs: str | None) -> None:
    named = {"type": "name", "properties": {"name": crs}} if crs else None
    (found,) = read({**polygon(*LONGITUDES), "crs": named})
    east, north = degree_lengths(found.origin[1] if found.origin else math.nan)
    assert found.origin == pytest.approx((11.5 + 115 / 7.4e4, 48.1 + 210 / 1.11e5), abs=1e-12)
    assert found.plan_area == pytest.approx(500.0 * east / 7.4e4 * north / 1.11e5, rel=1e-9)
    xs, ys = zip(*found.rings[0], strict=True)
    assert (max(xs), max(ys)) == pytest.approx((-min(xs), -min(ys)), abs=1e-8)
    assert found.crs == (crs or DEGREES)


def test_numbers_beyond_degrees_and_named_planes_are_metres() -> None:
    assert read(polygon(SHELL, HOLE))[0].plan_area == 500.0  # 200 is no latitude
    small = [[0.0, 0.0], [9.0, 0.0], [9.0, 5.0], [0.0, 5.0], [0.0, 0.0]]
    assert read({**polygon(small), "crs": UTM})[0].plan_area == 45.0
    (found,) = read(polygon(small))
    assert found.problems == (
        'is 1,001 km from end to end as longitude and latitude; name a plane "crs" for metres',
    )


@needs_data
@pytest.mark.parametrize("name", NAMES)
def test_open_outlines_are_those_of_another_reading(name: str) -> None:
    folder = shared_folder()
    assert folder is not None
    found = {outline.id: outline for outline in load_outlines(folder / "data" / f"{name}.geojson")}
    known = outlines(name)
    assert {key for key, outline in found.items() if not outline.problems} == set(known)
    for key, rings in known.items():
        assert {frozenset(ring) for ring in found[key].rings} == {frozenset(r) for r in rings}
    document = json.loads((folder / "data" / f"{name}.geojson").read_text())
    areas = {str(f["id"]): f["properties"]["area_m2"] for f in document["features"]}
    assert [
        key for key in known if found[key].plan_area != pytest.approx(areas[key], abs=6e-5)
    ] == []
