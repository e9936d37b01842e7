"""What of each material is laid, gathered over all planes and edges in the order of laying."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from roof3d.catalog.laying import StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Catalog
from roof3d.errors import InvariantError
from roof3d.layout.model import Direction, Floats, LaidLayer, LaidStrip, Layout
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
        In the order of first use: layers bottom up plane by plane, then strips; before each
        its primer and its bed, after it its nails. Decks are left out.

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

    for layer in _layers(layout):
        if _material(catalog, layer.material).form is MaterialForm.DECK:
            continue
        spread(layer.primer, layer.primer_area, layer.id)
        spread(layer.bed, layer.bed_area, layer.id)
        _add_layer(of(layer.material), layer)
        nail(layer.fastener, len(layer.nails), layer.id)
    counted = _counted_materials(layout, catalog)
    for strip in layout.strips:
        spread(strip.primer, strip.primer_area, strip.id)
        spread(strip.bed, strip.bed_area, strip.id)
        _add_strip(of(strip.material, counted=strip.material in counted), strip)
        nail(strip.fastener, len(strip.nails), strip.id)
    return tuple(tallies.values())


def _layers(layout: Layout) -> Iterator[LaidLayer]:
    return (layer for plane in layout.planes for layer in plane.layers)


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
