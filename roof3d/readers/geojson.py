"""Building outlines from GeoJSON: polygons in metres, or degrees laid flat.

References
----------
RFC 7946, "The GeoJSON Format", 2016: what a file is, and that without another word its
positions are longitude and latitude on WGS84. The member ``crs``, with which files name a
plane system in metres, stands in "The GeoJSON Format Specification", 2008, section 3.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final, NoReturn

from roof3d.errors import ReadError
from roof3d.readers.building import BuildingOutline, building_outline, is_place, printable
from roof3d.tolerance import DEFAULT, Tolerance

LARGEST_FILE: Final = 50_000_000
_LONGITUDE_FIRST: Final = re.compile(r"(?:.*[:/])?(?:CRS84|4326)", re.IGNORECASE)
_TYPES: Final = frozenset(
    {
        "Feature",
        "FeatureCollection",
        "Point",
        "MultiPoint",
        "LineString",
        "MultiLineString",
        "Polygon",
        "MultiPolygon",
        "GeometryCollection",
    }
)


def load_outlines(path: str | os.PathLike[str]) -> tuple[BuildingOutline, ...]:
    """Read the building outlines of a file.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    tuple of BuildingOutline
        As ``parse_outlines``.

    Raises
    ------
    ReadError
        If the file cannot be read, is larger than 50 MB, or as ``parse_outlines``.
    """
    source = os.fspath(path) or "."
    try:
        with Path(source).open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        _refuse("there is no such file", source)
    except IsADirectoryError:
        _refuse("is a directory, not a GeoJSON file", source)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        _refuse(f"cannot be read: {reason[:1].lower()}{reason[1:]}", source)
    if len(content) > LARGEST_FILE:
        _refuse(
            f"is larger than {LARGEST_FILE // 10**6} MB", source, "cut out the buildings you need"
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        _refuse(f"is not UTF-8 text (byte {error.start})", source, "save it as UTF-8")
    return parse_outlines(text, source)


def parse_outlines(
    text: str, source: str = "GeoJSON", *, tol: Tolerance = DEFAULT
) -> tuple[BuildingOutline, ...]:
    """Read the building outlines in the text of a GeoJSON file.

    Parameters
    ----------
    text : str
        A Feature, a FeatureCollection, a Polygon, a MultiPolygon or a collection of them;
        what else is in it (points, lines) is passed over.
    source : str
        What errors call it.
    tol : Tolerance

    Returns
    -------
    tuple of BuildingOutline
        One or more, in the order of the file. One that cannot be used does not stop the
        others: its ``problems`` say why.

    Raises
    ------
    ReadError
        If it is not JSON, not GeoJSON, or holds no polygon.

    Notes
    -----
    Coordinates are taken for metres where the file names a plane system. Without one, or
    with WGS84 named, and where all values may be degrees, each building is laid flat about
    its own middle.
    """
    document = _parse_json(text, source)
    kind = document.get("type")
    if not isinstance(kind, str) or kind not in _TYPES:
        _refuse(
            'is JSON, but not GeoJSON: its "type" is ' + printable(kind), source, "see RFC 7946"
        )
    found = list(_polygons(document))
    if not found:
        _refuse("holds no polygon", source, "outlines of buildings are Polygon or MultiPolygon")
    crs = _crs(document)
    degrees = (not crs or bool(_LONGITUDE_FIRST.fullmatch(crs))) and all(
        _may_be_degrees(coordinates) for _, _, coordinates in found
    )
    return tuple(
        building_outline(name, words, coordinates, crs, degrees=degrees, tol=tol)
        for name, words, coordinates in found
    )


def _parse_json(text: str, source: str) -> Mapping[str, Any]:
    def refuse_constant(word: str) -> NoReturn:
        _refuse(f"holds {word}, which is no number of JSON", source, "leave that feature out")

    try:
        document = json.loads(text, parse_constant=refuse_constant)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        _refuse(f"is not JSON: {error.msg[:1].lower()}{error.msg[1:]} ({place})", source)
    except RecursionError:
        _refuse("is not GeoJSON: its values are nested too deep", source)
    except ValueError as error:  # numbers with thousands of digits
        _refuse(f"is not JSON: {error}", source)
    if not isinstance(document, dict):
        _refuse("is JSON, but not GeoJSON: it is no object", source, "see RFC 7946")
    return document


def _polygons(document: Mapping[str, Any]) -> Iterator[tuple[str, str, object]]:
    """Yield id, name and coordinates of every polygon, in the order of the file."""
    features = document.get("features") if document["type"] == "FeatureCollection" else [document]
    for number, feature in enumerate(features if isinstance(features, list) else (), start=1):
        if not isinstance(feature, dict):
            continue
        wrapped = feature.get("type") == "Feature"
        parts = list(_parts(feature.get("geometry") if wrapped else feature))
        own = feature.get("properties") if wrapped else None
        properties = own if isinstance(own, dict) else {}
        id_ = feature.get("id", properties.get("id"))
        known = isinstance(id_, str | int) and not isinstance(id_, bool) and str(id_).strip()
        name = printable(id_) if known else str(number)
        words = properties.get("name")
        for part, coordinates in enumerate(parts, start=1):
            suffix = f"-{part}" if len(parts) > 1 else ""
            yield name + suffix, printable(words) if isinstance(words, str) else "", coordinates


def _parts(geometry: object) -> Iterator[object]:
    if not isinstance(geometry, dict):
        return
    coordinates, members = geometry.get("coordinates"), geometry.get("geometries")
    match geometry.get("type"):
        case "Polygon":
            yield coordinates
        case "MultiPolygon":
            yield from coordinates if isinstance(coordinates, list) else ()
        case "GeometryCollection":
            for member in members if isinstance(members, list) else ():
                yield from _parts(member)


def _crs(document: Mapping[str, Any]) -> str:
    crs = document.get("crs")
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    return printable(name) if isinstance(name, str) else ""


def _may_be_degrees(coordinates: object) -> bool:
    return all(
        abs(point[0]) <= 180.0 and abs(point[1]) <= 90.0
        for ring in (coordinates if isinstance(coordinates, list) else ())
        for point in (ring if isinstance(ring, list) else ())
        if is_place(point)
    )


def _refuse(message: str, source: str, hint: str = "") -> NoReturn:
    raise ReadError(message, where=source, hint=hint) from None
