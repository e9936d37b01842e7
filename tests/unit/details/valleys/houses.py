"""Houses with every kind of hip, ridge and valley at any pitch, and what holds of any detail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import shapely

import roof3d
from roof3d.details.frame import Face
from roof3d.details.model import Detail, DetailLayer, Piece, PieceKind
from roof3d.details.shapes.solids import Body, cut_body
from roof3d.project import Project, build
from roof3d.scene.detail_scene import build_detail
from tests.unit.details.solid_checks import open_or_inside_out, shared_area

INCH = 0.0254
MODELS = Path(__file__).parents[4] / "models"
_L = """
schema = 1
name = "L"
units = "imperial"
[[section]]
id = "house"
form = "outline"
outline = [
  ["0 ft", "0 ft"], ["40 ft", "0 ft"], ["40 ft", "20 ft"],
  ["20 ft", "20 ft"], ["20 ft", "40 ft"], ["0 ft", "40 ft"],
]
eave = "9 ft"
pitch = "{pitch}"
overhang = {{ eave = "12 in", rake = "6 in" }}
edge = [{{ at = 2, pitch = "{wing}" }}]
[layout]
valley = "{valley}"
ridge_vent = {vent}
"""


@cache
def house(pitch: str, wing: str = "", valley: str = "open", *, vent: bool = False) -> Project:
    """Build an L of 20 ft wide wings; the plane beside its inside corner may fall otherwise."""
    text = _L.format(pitch=pitch, wing=wing or pitch, valley=valley, vent=str(vent).lower())
    with TemporaryDirectory() as folder:
        path = Path(folder) / "house.toml"
        path.write_text(text, encoding="utf-8")
        return build(roof3d.load(path))


@cache
def shipped(name: str) -> Project:
    return build(roof3d.load(MODELS / f"{name}.toml"))


def true_detail(project: Project, place: str) -> Detail:
    """Build a detail with true thicknesses."""
    return build_detail(project, place, exaggerate=1.0, least_thickness=0.0)


def check_sound(detail: Detail) -> None:
    """Check solids, order of work, contact and words: what holds of every detail."""
    assert [bad for piece in detail.pieces if (bad := open_or_inside_out(piece))] == []
    places = [share * detail.size[0] for share in (-0.43, -0.27, -0.11, 0.0, 0.07, 0.21, 0.38)]
    assert shared_area(detail.frame, detail.pieces, places) == {}
    assert upside_down(detail, places) == []
    assert hovering(detail, places) == []
    assert [layer.number for layer in detail.layers] == list(range(1, len(detail.layers) + 1))
    assert [field for layer in detail.layers for field in _blank(layer)] == []
    assert {piece.layer for piece in detail.pieces} == {layer.number for layer in detail.layers}
    orders = [piece.layer for piece in detail.pieces]
    assert orders == sorted(orders)


def _blank(layer: DetailLayer) -> Iterator[str]:
    names = ("name", "material", "size", "why", "fastening", "source")
    for name in (*names, "tool", "gear", "mistake", "check"):
        if not getattr(layer, name):
            yield f"{layer.number} {name}"


def cuts(detail: Detail, u: float) -> list[tuple[Piece, shapely.Geometry]]:
    """Cut every solid piece square to the line at a place."""
    x, y, z = (np.array(detail.frame.origin) + u * np.array(detail.frame.along)).tolist()
    here = replace(detail.frame, origin=(x, y, z))
    found = []
    for piece in detail.pieces:
        if piece.kind in {PieceKind.FASTENER, PieceKind.FRAMING}:
            continue
        body = Body(vertices=piece.vertices, triangles=piece.triangles, rims=())
        rings = [shapely.Polygon(ring) for ring in cut_body(body, here)]
        if rings:
            found.append((piece, shapely.union_all(rings)))
    return found


def upside_down(detail: Detail, places: list[float]) -> list[tuple[str, str]]:
    """Name pairs of which the later piece lies below the earlier one somewhere."""
    wrong = []
    for u in places:
        pieces = cuts(detail, u)
        for face in Face:
            sign = -1.0 if face is Face.NEAR else 1.0
            for away in np.arange(4.0, detail.size[1 if sign < 0.0 else 2] / INCH, 1.5):
                s = np.full(1, sign * away * INCH + 0.001)
                ends = [
                    detail.frame.on_face(face, np.zeros(1), s, np.full(1, h)) for h in (-0.1, 0.4)
                ]
                low, high = (detail.frame.section(end)[0] for end in ends)
                line = shapely.LineString([low, high])
                spans = [
                    (piece.id, [float(np.hypot(*(np.array(p) - low))) for p in shared.coords])
                    for piece, polygon in pieces
                    if (shared := shapely.intersection(line, polygon)).geom_type == "LineString"
                    and shared.length > 0.0
                ]
                wrong += [
                    (one, other)
                    for (one, below), (other, above) in combinations(spans, 2)
                    if min(above) < max(below) - 1e-6
                ]
    return wrong


def hovering(detail: Detail, places: list[float]) -> list[int]:
    """Number the layers nowhere nearer to what is below than one lapped sheet is thick.

    A stiff piece bridges the laps below it; the thickest sheet is a cap of 0.14 in.
    """
    bridged = 0.145 * INCH * detail.thickness[0]
    touching: set[int] = {1}
    for u in places:
        pieces = cuts(detail, u)
        for layer in {piece.layer for piece, _ in pieces} - touching:
            below = shapely.union_all([p for piece, p in pieces if piece.layer < layer])
            own = shapely.union_all([p for piece, p in pieces if piece.layer == layer])
            if own.distance(below) < bridged:
                touching.add(layer)
    return [layer.number for layer in detail.layers if layer.number not in touching]


def measured(detail: Detail) -> dict[str, float]:
    """Lengths of a detail in inches, by id."""
    return {measure.id: round(measure.value / INCH, 4) for measure in detail.measures}


def of_role(detail: Detail, start: str) -> list[Piece]:
    return [p for p in detail.pieces if p.id.startswith(start) and p.kind is not PieceKind.FASTENER]


def courses_of(detail: Detail, face: Face) -> dict[int, list[Piece]]:
    """Shingles of one plane by the number of their course."""
    found: dict[int, list[Piece]] = {}
    for piece in of_role(detail, f"shingles_{face}."):
        found.setdefault(int(piece.id.split(".")[1].split("_")[0]), []).append(piece)
    return found


def outline_of(piece: Piece) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(f.outline, f.holes) for f in piece.footprints])


def check_exposure(detail: Detail, face: Face, exposure: float) -> None:
    """Butts of neighbouring courses lie one exposure apart, the later one over the earlier."""
    flow = detail.faces[0 if face is Face.NEAR else 1].flow
    assert flow is not None
    butts = {
        number: min(
            float((-shapely.get_coordinates(outline_of(piece)) @ np.array(flow)).min())
            for piece in pieces
        )
        for number, pieces in courses_of(detail, face).items()
    }
    start, end = -detail.size[0] / 2.0 + 1e-6, detail.size[0] / 2.0 - 1e-6
    whole = [
        number
        for number, pieces in courses_of(detail, face).items()
        if all(start < p.span[0] and p.span[1] < end for p in pieces)
    ]
    steps = [(butts[b] - butts[a]) / INCH for a, b in pairwise(sorted(whole)) if b == a + 1]
    assert steps == [] or np.ptp([*steps, exposure]) < 1e-6
