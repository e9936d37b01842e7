"""Layers, strips and materials written down by hand, so that tests here need no layout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.layout.model import (
    Direction,
    LaidLayer,
    LaidPlane,
    LaidStrip,
    Layout,
    Pieces,
    PlaneFrame,
)
from roof3d.roof.model import Plane
from roof3d.spec.model import RoofSpec, RuleSpec
from roof3d.units import Units
from tests.unit.rules.hand_roofs import make_plane

FOOT = 0.3048
INCH = 0.0254
GALLON = 231 * INCH**3
POUND = 0.45359237


def material(material_id: str, form: MaterialForm, **values: object) -> Material:
    """Make a material; its sizes are in metres."""
    plain = Material(
        id=material_id, name=material_id.replace("-", " "), form=form, purpose="", source="by hand"
    )
    return replace(plain, **values)  # type: ignore[arg-type]


def hand_catalog() -> Catalog:
    """One material of each form."""
    return Catalog(
        materials=(
            material("deck", MaterialForm.DECK),
            material(
                "felt",
                MaterialForm.SHEET,
                width=3 * FOOT,
                length=30 * FOOT,
                side_lap=0.5 * FOOT,
                end_lap=0.5 * FOOT,
                shortest=4 * FOOT,
                pack="roll",
                pack_count=1.0,
                pack_weight=60 * POUND,
                sources=(("width", "a book"), ("length", "a book"), ("end_lap", "a code")),
            ),
            material(
                "cap", MaterialForm.SHEET, width=3 * FOOT, length=30 * FOOT, selvage=0.5 * FOOT
            ),
            material(
                "shingle",
                MaterialForm.SHINGLE,
                width=FOOT,
                length=3 * FOOT,
                exposure=5 * INCH,
                shortest=0.5 * FOOT,
                pack="bundle",
                pack_count=27.0,
                pack_weight=70 * POUND,
            ),
            material("edge-metal", MaterialForm.METAL, length=10 * FOOT, pack="length"),
            material(
                "step", MaterialForm.METAL, length=8 * INCH, width=4 * INCH, pack="box",
                pack_count=50.0,
            ),
            material(
                "starter", MaterialForm.STRIP, length=3 * FOOT, pack="bundle", pack_count=20.0
            ),
            material(
                "ridge", MaterialForm.STRIP, length=FOOT, exposure=5 * INCH, pack="bundle",
                pack_count=81.0,
            ),
            material("boot", MaterialForm.UNIT, pack="piece", pack_count=1.0),
            material(
                "primer", MaterialForm.LIQUID, rate=0.75 * GALLON / (100 * FOOT**2),
                pack="pail", pack_volume=5 * GALLON, pack_weight=40 * POUND,
            ),
            material(
                "cement", MaterialForm.LIQUID, thickness=INCH / 8, pack="pail",
                pack_volume=5 * GALLON,
            ),
            material("nail", MaterialForm.FASTENER, pack="box", pack_count=1000.0),
            material("loose-nail", MaterialForm.FASTENER),
        ),
        assemblies=(
            Assembly(
                id="shingles",
                name="Shingles",
                kind="shingle",
                least_slope=0.0,
                most_slope=math.inf,
                slope_source="by hand",
                layers=(),
                strips=(
                    StripRule(
                        id="steps", material="step", at=(Border.SIDEWALL,), source="by hand",
                        per_course=True,
                    ),
                    StripRule(
                        id="eave", material="step", at=(Border.EAVE,), source="by hand"
                    ),
                ),
            ),
        ),
    )  # fmt: skip


def hand_spec() -> RoofSpec:
    """A model without sections: the take-off asks it for units, site and openings alone."""
    return RoofSpec(
        version=1,
        name="by hand",
        units=Units.IMPERIAL,
        rules=RuleSpec(low_slope_cutoff=2 / 12),
        sections=(),
        openings=(),
        planes=(),
    )


def laid_layer(
    layer_id: str,
    material_id: str,
    boxes: Sequence[tuple[float, float, float, float]],
    *,
    direction: Direction = Direction.ACROSS,
    nails: int = 0,
    fastener: str = "",
    bed: str = "",
    bed_area: float = 0.0,
    extent: shapely.Geometry | None = None,
) -> LaidLayer:
    """Lay boxes given in feet; what lies outside the extent is trimmed."""
    columns = np.array(boxes, dtype=np.float64).reshape(-1, 4) * FOOT
    whole = shapely.box(*columns.T)
    extent = shapely.union_all(whole) if extent is None else extent
    trimmed = shapely.intersection(whole, extent)
    plane, role = layer_id.split("/")
    return LaidLayer(
        id=layer_id,
        plane=plane,
        role=role,
        material=material_id,
        number=1,
        direction=direction,
        extent=extent,
        width=3 * FOOT,
        length=30 * FOOT,
        side_lap=0.5 * FOOT,
        end_lap=0.5 * FOOT,
        courses=(),
        pieces=Pieces(
            boxes=columns,
            course=np.ones(len(columns), dtype=np.int64),
            place=np.arange(1, len(columns) + 1),
            areas=shapely.area(trimmed),
            trimmed=dict(enumerate(trimmed)),
        ),
        nails=np.zeros((nails, 2)),
        fastener=fastener,
        least_side_offset=math.inf,
        least_end_offset=math.inf,
        least_stagger=math.inf,
        bed=bed,
        bed_area=bed_area,
    )


def laid_strip(
    strip_id: str,
    material_id: str,
    pieces: Sequence[tuple[float, float]],
    *,
    width: float = 0.1,
    nails: int = 0,
    fastener: str = "",
    primer: str = "",
    primer_area: float = 0.0,
) -> LaidStrip:
    """Lay pieces from and to places given in feet, on the plane ``main.south``."""
    columns = np.array(pieces, dtype=np.float64).reshape(-1, 2) * FOOT
    edge, rule = strip_id.split("/")
    return LaidStrip(
        id=strip_id,
        edge=edge,
        rule=rule,
        material=material_id,
        planes=("main.south",),
        length=float(columns.max(initial=0.0)),
        width=width,
        lap=0.0,
        pieces=columns,
        nails=np.zeros((nails, 2)),
        fastener=fastener,
        primer=primer,
        primer_area=primer_area,
    )


def laid_out(layers: Sequence[LaidLayer], strips: Sequence[LaidStrip] = ()) -> Layout:
    """Put layers on their planes, in the order given."""
    frame = PlaneFrame(
        origin=(0.0, 0.0, 0.0), along=(1.0, 0.0, 0.0), up=(0.0, 1.0, 0.0), normal=(0.0, 0.0, 1.0)
    )
    names = dict.fromkeys([*(layer.plane for layer in layers), "main.south"])
    return Layout(
        planes=tuple(
            LaidPlane(
                plane=flat_plane(name),
                assembly="shingles",
                frame=frame,
                outline=shapely.box(0, 0, 1, 1),
                sides=(),
                layers=tuple(layer for layer in layers if layer.plane == name),
            )
            for name in names
        ),
        strips=tuple(strips),
        findings=(),
    )


def flat_plane(name: str) -> Plane:
    """Give a plane of that name; nothing is counted from its own shape."""
    return make_plane(name, (0, 0, 1, 1), (0.0, 0.5))
