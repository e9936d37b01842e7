"""Layers and strips of a layout as pieces of a pile, in the frame of their plane."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from roof3d.catalog.laying import Border as Place
from roof3d.catalog.laying import StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.laps.edges import Shapes, only_areas
from roof3d.laps.laid.order import SHINGLES, layer_stage, strip_stage, weather_roles
from roof3d.laps.laid.rules import lap_rule
from roof3d.laps.model import Floats, LapPiece, PieceKind
from roof3d.layout.model import Direction, LaidLayer, LaidPlane, LaidStrip, Point2, Side
from roof3d.tolerance import DEFAULT, Tolerance

INCH: Final = 0.0254
_FREE: Final = frozenset({Place.EAVE, Place.RAKE, Place.HIGH_EDGE, Place.JOINT_UPPER})
_WALLS: Final = frozenset(
    {
        Place.HEADWALL,
        Place.SIDEWALL,
        Place.OPENING_FOOT,
        Place.OPENING_SIDE,
        Place.OPENING_HEAD,
    }
)
_TOPS: Final = frozenset({Place.RIDGE, Place.HIP})
_ASTRIDE: Final = frozenset({Place.RIDGE, Place.HIP, Place.VALLEY})
_KINDS: Final = {MaterialForm.SHEET: PieceKind.SHEET, MaterialForm.METAL: PieceKind.METAL}
_AGAINST: Final = 0.05
_A_COURSE: Final = 1.0 / 1024.0
_A_PIECE: Final = _A_COURSE / 65536.0


def layer_pieces(plane: LaidPlane, catalog: Catalog, tol: Tolerance) -> Iterator[LapPiece]:
    """Give every piece of every layer of a plane."""
    under: LaidLayer | None = None
    for layer in plane.layers:
        yield from _pieces_of(layer, under, plane, catalog, tol)
        under = layer


def _pieces_of(
    layer: LaidLayer,
    under: LaidLayer | None,
    plane: LaidPlane,
    catalog: Catalog,
    tol: Tolerance,
) -> Iterator[LapPiece]:
    assembly = catalog.assembly(plane.assembly)
    material = catalog.material(layer.material)
    shingle = material.form is MaterialForm.SHINGLE
    across = layer.direction is Direction.ACROSS
    between = material.width - material.exposure if shingle else material.side_lap
    within = 0.0 if shingle else material.end_lap
    rule = lap_rule(assembly, layer.role, plane.plane.slope, tol=tol)
    if rule is not None and not shingle:
        between, within = max(between, rule.side), max(within, rule.end)
    doubled = not shingle and 2.0 * between >= material.width
    touches = under is not None and under.direction is layer.direction and not doubled
    stage = layer_stage(assembly, layer.number, catalog)
    faces = weather_roles(assembly)
    nailing = next(one.nailing for one in assembly.layers if one.role == layer.role)
    shapes = _outlines(layer)
    nails = _by_piece(layer, shapes, nailing.line if shingle and nailing is not None else 0.0, tol)
    for k in range(len(layer.pieces)):
        course = int(layer.pieces.course[k])
        yield LapPiece(
            id=f"{layer.id}/{course}.{int(layer.pieces.place[k])}#{k}",
            layer=layer.id,
            kind=PieceKind.SHINGLE if shingle else PieceKind.SHEET,
            order=stage + course * _A_COURSE + k * _A_PIECE,
            shape=shapes[k],
            row_lap=between,
            end_lap=within,
            other_lap=material.width - 2.0 * material.exposure if shingle else _over_head(material),
            bonded=is_bonded(material),
            seals_nails=assembly.kind == "shingle",
            weathers=shingle or layer.role in faces,
            nails=nails[k],
            nail_cover=_cover(material, layer.fastener, assembly),
            course=course,
            run=(1.0, 0.0) if across else (0.0, 1.0),
            stagger=material.stagger,
            below=under.id if touches and under is not None and material.side_offset else "",
            side_offset=material.side_offset,
            end_offset=material.end_offset,
            name=f"layers[{layer.id}], course {course}, piece {int(layer.pieces.place[k])}",
        )


def _outlines(layer: LaidLayer) -> Shapes:
    """Return the trimmed pieces of a layer, all at once."""
    shapes: Shapes = shapely.box(*layer.pieces.boxes.T)
    for k, shape in layer.pieces.trimmed.items():
        shapes[k] = shape
    return shapes


def _over_head(material: Material) -> float:
    """Return how far another layer reaches over the head of a sheet: less where it is doubled."""
    doubled = 2.0 * material.side_lap >= material.width
    return material.end_lap if doubled else material.side_lap


def is_bonded(material: Material, bed: str = "") -> bool:
    """Return whether a material is stuck down: it has a weather to bond in, or a bed."""
    return bool(bed) or (material.form is MaterialForm.SHEET and bool(material.weather))


def _cover(material: Material, fastener: str, assembly: Assembly) -> float:
    """Return how far a later piece reaches past each fastener; of a shingle its middle."""
    if not fastener:
        return -1.0
    if material.form is MaterialForm.SHEET:
        return 2.0 * INCH if assembly.kind == "membrane" else INCH
    return 0.0


def _by_piece(layer: LaidLayer, shapes: Shapes, line: float, tol: Tolerance) -> list[Floats]:
    """Return the nails of each piece: the first laid there, of shingles the one whose line it is.

    ``line`` is how high over its lower edge a shingle is nailed; 0 of sheets.
    """
    own: list[Floats] = [np.empty((0, 2))] * len(layer.pieces)
    if not len(layer.nails):
        return own
    nail, piece = shapely.STRtree(shapes).query(shapely.points(layer.nails), "intersects")
    if line > 0.0:
        off = np.abs(layer.nails[nail, 1] - layer.pieces.boxes[piece, 1] - line) > tol.snap
        order = np.lexsort((piece, off, nail))
    else:
        order = np.lexsort((piece, nail))
    nail, piece = nail[order], piece[order]
    first = np.r_[True, nail[1:] != nail[:-1]][: len(nail)]
    nail, piece = nail[first], piece[first]
    order = np.argsort(piece, kind="stable")
    nail, piece = nail[order], piece[order]
    cuts = np.searchsorted(piece, np.arange(len(layer.pieces) + 1))
    return [layer.nails[nail[cuts[k] : cuts[k + 1]]] for k in range(len(layer.pieces))]


def strip_pieces(
    plane: LaidPlane, strip: LaidStrip, catalog: Catalog, tol: Tolerance
) -> Iterator[LapPiece]:
    """Give the pieces of a strip on a plane: one a side, or one a course of step flashing."""
    assembly = catalog.assembly(plane.assembly)
    rule = next((rule for rule in assembly.strips if rule.id == strip.rule), None)
    material = catalog.material(strip.material)
    if rule is None or material.thickness > INCH:  # what fills a corner laps nothing
        return
    for number, side in enumerate(plane.sides):
        if side.edge != strip.edge or side.border not in rule.at:
            continue
        if rule.each or rule.parapet == "outside":  # it lies on no plane
            continue
        if rule.per_course:
            yield from _steps(plane, strip, side, material, number, tol)
            continue
        # Where water runs against a wall, an apron would catch it: what leads it away is not laid.
        if side.border in _WALLS and assembly.kind == "shingle" and runs_against(side):
            continue
        yield _band(plane, strip, side, rule, material, assembly, catalog, number)


def _band(
    plane: LaidPlane,
    strip: LaidStrip,
    side: Side,
    rule: StripRule,
    material: Material,
    assembly: Assembly,
    catalog: Catalog,
    number: int,
) -> LapPiece:
    astride = side.border in _ASTRIDE
    low = -strip.width / 2.0 if astride else _outer_side(rule, strip, side)
    high = low + strip.width
    if side.border in _WALLS:  # what goes up the wall lies on no plane
        low, high = max(low, 0.0), max(high, 0.0)
    stage = strip_stage(assembly, rule.id, material.id, side.border, catalog)
    top = assembly.layers[-1].material
    # The ends of an apron past its opening, and what covers them there, have no place yet.
    unplaced = astride or side.border is Place.OPENING_FOOT or high - low < strip.width
    nails = np.empty((0, 2)) if unplaced else _nails_of(strip, side, low)
    metal = material.form is MaterialForm.METAL
    # Bent down over shingles the metal of a membrane has a leg as long as its flange.
    leg = strip.width if metal and side.border is Place.JOINT_UPPER else 0.0
    shape: shapely.Geometry = _along(side, low - leg, high, 0.0)
    shingles = next((one for one in plane.layers if one.end_lap == 0.0), None)
    kind = _KINDS.get(material.form, PieceKind.SHINGLE)
    # Metal of a rake begins with the shingles: over a joint that of the membrane runs on.
    rake = metal and side.border is Place.RAKE
    if (kind is PieceKind.SHINGLE or rake) and shingles is not None and not astride:
        shape = only_areas(shapely.intersection(shape, shingles.extent))
        nails = nails[shapely.contains(shape, shapely.points(nails))]
    elif astride:
        # At an eave its end is cut along it.
        own = _along(side, 0.0, -low, -low if _meets_eave(plane, side) else 0.0)
        beyond = shapely.difference(_along(side, low, 0.0, 0.0), plane.outline)
        shape = only_areas(shapely.intersection(own, plane.outline), beyond)
    elif low >= 0.0 and not leg:
        over = [_along(one, -6.0 * INCH, 0.0, 0.0) for one in plane.sides if one.border in _TOPS]
        ground = shapely.union_all([plane.outline, *over], grid_size=DEFAULT.grid)
        shape = only_areas(shapely.intersection(shape, ground))
    size = math.dist(side.start, side.end)
    return LapPiece(
        id=f"{strip.id}/{plane.plane.id}#{number}",
        layer=f"{strip.id}/{plane.plane.id}#{number}",
        kind=kind,
        order=stage,
        shape=shape,
        other_lap=0.0 if material.exposure > 0.0 else _strip_lap(material, strip, assembly),
        bonded=kind is not PieceKind.SHINGLE and is_bonded(material, strip.bed),
        welded=material.id == top and assembly.kind == "membrane",
        ends_known=False,
        run=((side.end[0] - side.start[0]) / size, (side.end[1] - side.start[1]) / size),
        seals_nails=assembly.kind == "shingle",
        weathers=metal or material.exposure > 0.0 or material.id == top,
        turned_down=metal and side.border in _FREE,
        nails=nails,
        nail_cover=_cover(material, strip.fastener, assembly),
        name=f"strips[{strip.id}]",
    )


def _outer_side(rule: StripRule, strip: LaidStrip, side: Side) -> float:
    """Return where a strip begins, inward from its side: further out where it goes over a wall."""
    over = strip.width - rule.width if rule.over else 0.0
    return rule.start.at(side.rise, side.gap) - over


def runs_against(side: Side) -> bool:
    """Return whether water runs against a side: not where it runs along the fall."""
    return side.end[0] - side.start[0] > _AGAINST * math.dist(side.start, side.end)


def _meets_eave(plane: LaidPlane, side: Side) -> bool:
    ends = {end for one in plane.sides if one.border is Place.EAVE for end in (one.start, one.end)}
    return side.start in ends or side.end in ends


def _strip_lap(material: Material, strip: LaidStrip, assembly: Assembly) -> float:
    """Return how far a later layer covers the head of a strip."""
    if material.form is MaterialForm.SHEET:
        return _over_head(material)
    if material.form is MaterialForm.METAL and assembly.kind == "membrane":
        return min(material.end_lap, strip.width - INCH)
    return min(2.0 * INCH, strip.width)


def _along(side: Side, low: float, high: float, more: float) -> shapely.Polygon:
    """Return the band along a side, from how far inward to how far."""
    (x0, y0), (x1, y1) = side.start, side.end
    size = math.dist(side.start, side.end)
    ax, ay = (x1 - x0) / size, (y1 - y0) / size
    nx, ny = -ay, ax
    ends = ((x0 - more * ax, y0 - more * ay), (x1 + more * ax, y1 + more * ay))
    return shapely.Polygon(
        [
            *((x + low * nx, y + low * ny) for x, y in ends),
            *((x + high * nx, y + high * ny) for x, y in reversed(ends)),
        ]
    )


def _nails_of(strip: LaidStrip, side: Side, low: float) -> Floats:
    """Return the nails of a strip on one side, counted from the side's lower end."""
    (x0, y0), (x1, y1) = sorted((side.start, side.end), key=lambda end: (end[1], end[0]))
    size = math.dist(side.start, side.end)
    along = np.array([(x1 - x0) / size, (y1 - y0) / size])
    inward = _inward(side)
    there = (strip.nails[:, 0] > 0.0) & (strip.nails[:, 0] < size)
    nails = strip.nails[there]
    placed: Floats = (
        np.array([x0, y0]) + nails[:, :1] * along + (nails[:, 1:] + low) * np.array(inward)
    )
    return placed


def _inward(side: Side) -> Point2:
    size = math.dist(side.start, side.end)
    return (side.start[1] - side.end[1]) / size, (side.end[0] - side.start[0]) / size


def _steps(
    plane: LaidPlane,
    strip: LaidStrip,
    side: Side,
    material: Material,
    number: int,
    tol: Tolerance,
) -> Iterator[LapPiece]:
    """Give step flashings, each over one course of shingles and under the next."""
    shingles = next((one for one in plane.layers if one.end_lap == 0.0), None)
    if shingles is None or abs(side.end[0] - side.start[0]) > tol.snap:
        return  # across the fall they are folded by eye: their place is not known
    foot = min(side.start[1], side.end[1])
    top = max(side.start[1], side.end[1])
    into = _inward(side)[0]
    for k, (low, high) in enumerate(strip.pieces.tolist()):
        course = max(
            (one.number for one in shingles.courses if one.low <= foot + low + tol.snap), default=1
        )
        across = sorted((side.start[0], side.start[0] + into * strip.width))
        yield LapPiece(
            id=f"{strip.id}/{plane.plane.id}#{number}.{k + 1}",
            layer=f"{strip.id}/{plane.plane.id}#{number}",
            kind=PieceKind.METAL,
            order=SHINGLES + (course - 0.5) * _A_COURSE + (k + 1) * _A_PIECE,
            shape=shapely.box(across[0], foot + low, across[1], min(foot + high, top)),
            row_lap=strip.lap,
            other_lap=min(strip.lap, material.length),
            weathers=True,
            course=k + 1,
            name=f"strips[{strip.id}], piece {k + 1}",
        )
