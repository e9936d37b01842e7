"""What of each material is laid, gathered over all planes and edges in the order of work."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely

from roof3d.catalog.laying import StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import InvariantError
from roof3d.layout.model import Direction, Floats, LaidLayer, LaidStrip, Layout
from roof3d.layout.strips import CRICKET_LINING, lines_valleys
from roof3d.takeoff.model import Use

_BY_PIECE = (MaterialForm.UNIT, MaterialForm.FASTENER)


@dataclass(slots=True)
class Tally:
    """All uses of one material, while they are gathered.

    Attributes
    ----------
    material : Material
    by_piece : bool
        Whether each piece laid is a whole one, whatever its length.
    uses : list[Use]
    sizes : list of (n, 2) float64
        Length and width of each piece as it is taken off the roll or out of the pack, metres.
    covered : list[float]
        Of sheets and shingles, the area covered once by each use, m2.
    """

    material: Material
    by_piece: bool
    uses: list[Use] = field(default_factory=list)
    sizes: list[Floats] = field(default_factory=list)
    covered: list[float] = field(default_factory=list)

    @property
    def bundled(self) -> bool:
        """Whether it comes as a pack of many pieces, so that pieces are what is ordered."""
        return self.material.form is MaterialForm.SHINGLE or self.material.pack_count > 1.0

    @property
    def net(self) -> float:
        """Sum over the uses, in the unit of the item."""
        return math.fsum(use.net for use in self.uses)

    @property
    def pieces(self) -> int:
        """Count of all pieces or nails."""
        return sum(use.pieces for use in self.uses)


def tally_materials(layout: Layout, catalog: Catalog) -> tuple[Tally, ...]:
    """Gather what is laid by material.

    Parameters
    ----------
    layout : Layout
    catalog : Catalog
        That the layout was made from.

    Returns
    -------
    tuple[Tally, ...]
        In the order of work: membranes before shingles, layer by layer, each strip before the
        layer that its rule names or after them all; after each its bed, its primer and its
        nails. Decks are left out.

    Raises
    ------
    InvariantError
        Where the layout names a material that the catalog has not.
    """
    tallies: dict[str, Tally] = {}

    def of(material_id: str, *, counted: bool = False) -> Tally:
        if material_id not in tallies:
            material = _material(catalog, material_id)
            in_row = material.form in {MaterialForm.METAL, MaterialForm.STRIP}
            by_piece = material.form in _BY_PIECE or (
                in_row and (counted or material.exposure > 0.0)
            )
            tallies[material_id] = Tally(material=material, by_piece=by_piece)
        return tallies[material_id]

    def spread(liquid: str, area: float, where: str) -> None:
        if liquid and area > 0.0:
            tally = of(liquid)
            depth = tally.material.rate or tally.material.thickness
            tally.uses.append(Use(of=where, net=area * depth, pieces=0))

    def nail(fastener: str, count: int, where: str) -> None:
        if fastener and count:
            of(fastener).uses.append(Use(of=where, net=float(count), pieces=count))

    counted = _counted_materials(layout, catalog)
    for laid in _by_work(layout, catalog):
        bed_area = laid.bed_area
        if isinstance(laid, LaidStrip):
            _add_strip(of(laid.material, counted=laid.material in counted), laid)
        elif _material(catalog, laid.material).form is MaterialForm.DECK:
            continue
        else:
            _add_layer(of(laid.material), laid)
            bed_area += _bedded_sides(laid, layout, catalog)
        spread(laid.bed, bed_area, laid.id)
        spread(laid.primer, laid.primer_area, laid.id)
        nail(laid.fastener, len(laid.nails), laid.id)
    return tuple(tallies.values())


def _by_work(layout: Layout, catalog: Catalog) -> list[LaidLayer | LaidStrip]:
    """Return all that is laid in the order of work; what is alike in the order of planes."""
    assembly_of = {laid.plane.id: laid.assembly for laid in layout.planes}
    turns = {one.id: (one.kind == "shingle", at) for at, one in enumerate(catalog.assemblies)}
    stages = {one.id: _stages(one) for one in catalog.assemblies}
    last = (True, len(turns))

    def of_layer(layer: LaidLayer) -> tuple[tuple[bool, int], float]:
        return turns.get(assembly_of[layer.plane], last), float(layer.number)

    def of_strip(strip: LaidStrip) -> tuple[tuple[bool, int], float]:
        known = [assembly_of[plane] for plane in strip.planes if plane in assembly_of]
        ranked = [
            (turns[name], stages[name][strip.rule])
            for name in known
            if strip.rule in stages.get(name, {})
        ]
        return min(ranked, default=(last, math.inf))

    placed: list[tuple[tuple[tuple[bool, int], float], LaidLayer | LaidStrip]] = [
        (of_layer(layer), layer) for plane in layout.planes for layer in plane.layers
    ]
    placed += [(of_strip(strip), strip) for strip in layout.strips]
    return [laid for _, laid in sorted(placed, key=lambda one: one[0])]


def _stages(assembly: Assembly) -> dict[str, float]:
    """Return for each strip of an assembly where it stands among the layers, counted from 1."""
    roles = {layer.role: number for number, layer in enumerate(assembly.layers, 1)}
    after_all, step = len(roles) + 1.0, 1.0 / (len(assembly.strips) + 1)
    stages = {
        rule.id: roles.get(rule.before, after_all) - (1.0 - place * step)
        for place, rule in enumerate(assembly.strips, 1)
    }
    lining = next((one.id for one in assembly.strips if lines_valleys(one)), None)
    return stages if lining is None else stages | {CRICKET_LINING: stages[lining]}


def _bedded_sides(layer: LaidLayer, layout: Layout, catalog: Catalog) -> float:
    """Return the area of the side laps, square metres, where the bed goes under them."""
    assembly_of = {laid.plane.id: laid.assembly for laid in layout.planes}
    rules = [
        rule
        for assembly in catalog.assemblies
        if assembly.id == assembly_of[layer.plane]
        for rule in assembly.layers
        if rule.role == layer.role
    ]
    if not any(rule.bed_sides for rule in rules):
        return 0.0
    west, south, east, north = layer.extent.bounds
    laps = []
    for one, over in pairwise(layer.courses):
        low, high = max(one.low, over.low), min(one.high, over.high)
        across = layer.direction is Direction.ACROSS
        box = (west, low, east, high) if across else (low, south, high, north)
        laps.append(shapely.intersection(layer.extent, shapely.box(*box)).area)
    return math.fsum(laps)


def _material(catalog: Catalog, material_id: str) -> Material:
    try:
        return catalog.material(material_id)
    except KeyError as error:
        raise InvariantError(
            "the layout names a material that the catalog has not",
            where=f"materials[{material_id}]",
        ) from error


def _counted_materials(layout: Layout, catalog: Catalog) -> set[str]:
    """Return the materials of which every strip is so many pieces, whatever their length."""
    assembly_of = {laid.plane.id: laid.assembly for laid in layout.planes}
    rules: dict[tuple[str, str], StripRule] = {
        (assembly.id, rule.id): rule for assembly in catalog.assemblies for rule in assembly.strips
    }
    counted: set[str] = set()
    measured: set[str] = set()
    for strip in layout.strips:
        known = [rules.get((assembly_of.get(plane, ""), strip.rule)) for plane in strip.planes]
        by_piece = any(rule is not None and (rule.per_course or rule.each) for rule in known)
        (counted if by_piece else measured).add(strip.material)
    return counted - measured


def _add_layer(tally: Tally, layer: LaidLayer) -> None:
    boxes = layer.pieces.boxes
    sizes = boxes[:, 2:] - boxes[:, :2]
    if layer.direction is Direction.ALONG:
        sizes = sizes[:, ::-1]
    net = math.fsum(layer.pieces.areas)
    if tally.material.form is MaterialForm.SHINGLE:
        net /= tally.material.length * tally.material.width
    tally.covered.append(float(layer.extent.area))
    tally.uses.append(Use(of=layer.id, net=net, pieces=len(sizes)))
    tally.sizes.append(sizes)


def _add_strip(tally: Tally, strip: LaidStrip) -> None:
    lengths = strip.pieces[:, 1] - strip.pieces[:, 0]
    sizes = np.column_stack([lengths, np.full(len(lengths), strip.width)])
    if strip.crosswise:
        sizes = sizes[:, ::-1]
    if tally.material.form is MaterialForm.SHEET:
        net = math.fsum(lengths) * strip.width
        reach = strip.pieces.max(initial=0.0) - strip.pieces.min(initial=0.0)
        tally.covered.append(float(reach) * strip.width)
    else:
        net = _net(tally, lengths)
    tally.uses.append(Use(of=strip.id, net=net, pieces=len(sizes)))
    tally.sizes.append(sizes)


def _net(tally: Tally, lengths: Floats) -> float:
    """Return pieces, or metres of a row, or these as so many whole ones of a bundle."""
    if tally.by_piece:
        return float(len(lengths))
    total = math.fsum(lengths)
    return total / tally.material.length if tally.bundled else total
