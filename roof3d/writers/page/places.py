"""The joints of a roof for the page: each drawn once, with the edges that it is true for."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from roof3d.details.frame import Face
from roof3d.details.model import Detail, DetailLayer, PieceKind
from roof3d.details.site import Place
from roof3d.errors import LayoutError
from roof3d.project import Project
from roof3d.rules.cautions import cautions_for
from roof3d.scene.detail_scene import build_detail, detail_places
from roof3d.scene.lifts import shift
from roof3d.writers.page.wrong import Wrong, wrong_entry

_DEGREES = re.compile(r"(\d) deg\b")
_LIKE = 4
"""Decimals to which slopes are compared when joints count as alike."""
_TOUCH = 0.15
"""Share of the smaller of two parts that must lie on the other for them to be neighbours."""
_NO_FACE = frozenset({PieceKind.FRAMING, PieceKind.FASTENER})
_AROUND = frozenset({PieceKind.METAL, PieceKind.SHINGLE})


def drawn_places(project: Project) -> tuple[tuple[Detail, tuple[Place, ...]], ...]:
    """Return every joint of a roof that can be drawn, with the places it is true for."""
    drawn = (draw_first(project, places) for places in alike_places(project))
    return tuple(found for found in drawn if found is not None)


def alike_places(project: Project) -> tuple[tuple[Place, ...], ...]:
    """Return the places of a roof, those together that one joint is true for.

    Joints of one kind whose planes carry the same assemblies at the same slopes are put
    together alike. Transitions come first.
    """
    alike: dict[tuple[object, ...], list[Place]] = {}
    for place in detail_places(project):
        slopes = tuple(round(project.roof.plane(plane).slope, _LIKE) for plane in place.planes)
        carried = tuple(project.assembly_of(plane) for plane in place.planes)
        alike.setdefault((place.kind, slopes, carried), []).append(place)
    return tuple(tuple(places) for places in alike.values())


def draw_first(
    project: Project, places: Sequence[Place]
) -> tuple[Detail, tuple[Place, ...]] | None:
    """Build the first of some places alike that can be drawn, and put it first; None if none."""
    for place in places:
        try:
            detail = build_detail(project, place.id)
        except LayoutError:
            continue
        return detail, (place, *(other for other in places if other is not place))
    return None


def place_entry(
    project: Project, detail: Detail, places: Sequence[Place], wrongs: Sequence[Wrong] = ()
) -> dict[str, Any]:
    """Return one joint as plain values; points in the model's frame, metres."""
    choices = [choice for choice in project.choices if choice.plane in detail.planes]
    return {
        "id": detail.id,
        "kind": detail.kind.value,
        "title": detail.name,
        "summary": _DEGREES.sub("\\1\N{DEGREE SIGN}", detail.summary),
        "at": [_spot(project, place) for place in places],
        "toward": _toward(detail),
        "origin": list(detail.frame.origin),
        "along": list(detail.frame.along),
        "size": list(detail.size),
        "thickness": list(detail.thickness),
        "layers": [_layer(detail, layer) for layer in detail.layers],
        "beside": [list(pair) for pair in neighbours(detail)],
        "measures": [
            {
                "id": measure.id,
                "layer": measure.layer,
                "ends": [list(end) for end in measure.ends],
                "value_m": measure.value,
                "text": measure.text,
                "source": measure.source,
            }
            for measure in detail.measures
        ],
        "notes": list(detail.notes),
        "cautions": list(cautions_for(choices, project.catalog)),
        "wrong": [wrong_entry(detail, wrong) for wrong in wrongs],
    }


def waiting_entry(project: Project, places: Sequence[Place]) -> dict[str, Any]:
    """Return what is known of a joint before it is drawn: where it is."""
    spots = [_spot(project, place) for place in places]
    words = places[0].words
    return {
        "id": places[0].id,
        "kind": places[0].kind.value,
        "title": words[:1].upper() + words[1:],
        "summary": "",
        "at": spots,
        "toward": 0.0,
        "origin": spots[0]["middle"],
        "along": [1.0, 0.0, 0.0],
        "size": [1.0, 1.0, 1.0],
        "thickness": [1.0, 0.0],
        **{name: [] for name in ("layers", "measures", "notes", "cautions", "wrong")},
        "waits": True,
    }


def neighbours(detail: Detail) -> tuple[tuple[str, str], ...]:
    """Return which parts, ``layer/kind``, lie on one another with nothing between.

    Looked for on each face of the joint, square to it, from what the pieces cover there. What
    covers no face, as the metal round a chimney, is a neighbour of all metal and all shingles.
    Shingles laid in several steps are one roof to the eye, and so no neighbours of each other.
    """
    found: dict[tuple[str, str], None] = {}
    stuff = {
        (piece.layer, piece.kind.value): piece.material
        for piece in detail.pieces
        if piece.kind not in _NO_FACE
    }
    upright = set(stuff)
    for face in Face:
        cover = _covered(detail, face)
        upright -= set(cover)
        keys = sorted(cover)
        for at, low in enumerate(keys):
            bare = cover[low]
            for high in keys[at + 1 :]:
                same = low[1] == high[1] == PieceKind.SHINGLE and stuff[low] == stuff[high]
                if high[0] == low[0] or same:
                    continue
                least = _TOUCH * min(cover[low].area, cover[high].area)
                if bare.intersection(cover[high]).area > least:
                    found[f"{low[0]}/{low[1]}", f"{high[0]}/{high[1]}"] = None
                bare = bare.difference(cover[high])
    for key in sorted(upright):
        for other in sorted(stuff):
            if other[1] in _AROUND and other[0] != key[0]:
                low, high = sorted((key, other))
                found[f"{low[0]}/{low[1]}", f"{high[0]}/{high[1]}"] = None
    return tuple(found)


def _covered(detail: Detail, face: Face) -> dict[tuple[int, str], shapely.Geometry]:
    """Return what each part of a joint covers of a face."""
    shapes: dict[tuple[int, str], list[shapely.Polygon]] = {}
    for piece in detail.pieces:
        if piece.kind not in _NO_FACE:
            shapes.setdefault((piece.layer, piece.kind.value), []).extend(
                shapely.Polygon(mark.outline, mark.holes)
                for mark in piece.footprints
                if mark.face is face
            )
    return {key: shapely.union_all(found) for key, found in shapes.items() if found}


def _layer(detail: Detail, layer: DetailLayer) -> dict[str, Any]:
    pieces = [p for p in detail.pieces if p.layer == layer.number]
    largest = max(pieces, key=lambda p: (p.reach[1] - p.reach[0]) * (p.span[1] - p.span[0]))
    return {
        "number": layer.number,
        "name": layer.name,
        "material": layer.material,
        "size": layer.size,
        "why": layer.why,
        "fastening": layer.fastening,
        "tool": layer.tool,
        "gear": layer.gear,
        "mistake": layer.mistake,
        "check": layer.check,
        "source": layer.source,
        "lift": list(shift(detail, layer.number, 1.0)),
        "anchor": [float(value) for value in largest.vertices.mean(axis=0)],
    }


def _spot(project: Project, place: Place) -> dict[str, Any]:
    ends: tuple[tuple[float, float, float], ...] = ()
    if place.edge:
        ends = project.roof.edge(place.edge).ends
    elif place.opening:
        opening = next(o for o in project.roof.openings if o.id == place.opening)
        ends = tuple(point for ring in opening.rim for point in ring)
    else:
        ends = project.roof.plane(place.planes[0]).outline
    middle = np.mean(np.array(ends), axis=0)
    length = math.dist(ends[0], ends[-1]) if place.edge else 0.0
    return {
        "id": place.id,
        "edge": place.edge,
        "opening": place.opening,
        "planes": list(place.planes),
        "words": place.words,
        "length_m": length,
        "middle": [float(value) for value in middle],
    }


def _toward(detail: Detail) -> float:
    """Return the azimuth, degrees clockwise from north, of a place from which both faces show."""
    along, level = np.array(detail.frame.along), np.array(detail.frame.level)
    normals = [np.array(detail.frame.normal(face)) for face in (Face.NEAR, Face.FAR)]
    best, found = -math.inf, 0.0
    for across in (-1.0, -0.5, 0.5, 1.0):
        for beside in (-0.75, 0.75):
            eye = across * level + beside * along
            eye[2] = 0.0
            size = float(np.linalg.norm(eye))
            eye = eye / size if size else eye
            seen = min(float(normal @ (0.8 * eye + np.array((0, 0, 0.6)))) for normal in normals)
            if seen > best:
                best = seen
                found = math.degrees(math.atan2(eye[0], eye[1])) % 360.0
    return found
