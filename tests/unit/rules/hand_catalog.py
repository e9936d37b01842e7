"""A small catalog written down by hand, so that tests here hang on no data file."""

from __future__ import annotations

import math

from roof3d.catalog.laying import Border, Layer, StripRule
from roof3d.catalog.material import Material, MaterialForm, Method, WeatherBand
from roof3d.catalog.model import Assembly, Catalog


def make_band(
    method: Method, least: float = -math.inf, most: float = math.inf, caution: str = ""
) -> WeatherBand:
    return WeatherBand(
        least=least, most=most, method=method, caution=caution, source=f"source of {method}"
    )


def make_material(material_id: str, *weather: WeatherBand) -> Material:
    return Material(
        id=material_id,
        name=material_id.replace("-", " ").capitalize(),
        form=MaterialForm.SHEET,
        purpose="test",
        source="test",
        weather=weather,
    )


def make_layer(material: str, *, bed: str = "", ice_only: bool = False) -> Layer:
    return Layer(
        material=material, role=material, fastening="", source="", bed=bed, ice_only=ice_only
    )


def make_strip(
    material: str, *, bed: str = "", primer: str = "", valley: str = "", ice_only: bool = False
) -> StripRule:
    return StripRule(
        id=material,
        material=material,
        at=(Border.EAVE,),
        source="",
        bed=bed,
        primer=primer,
        valley=valley,
        ice_only=ice_only,
    )


def make_assembly(
    assembly_id: str,
    kind: str,
    least: float,
    most: float = math.inf,
    *,
    layers: tuple[Layer, ...] = (),
    strips: tuple[StripRule, ...] = (),
    uses_heat: bool = False,
) -> Assembly:
    """Give an assembly; limits as rise in 12."""
    return Assembly(
        id=assembly_id,
        name=assembly_id.replace("-", " ").capitalize(),
        kind=kind,
        least_slope=least / 12,
        most_slope=most / 12,
        slope_source=f"clause of {assembly_id}",
        layers=layers,
        strips=strips,
        uses_heat=uses_heat,
    )


def make_catalog(*assemblies: Assembly, materials: tuple[Material, ...] = ()) -> Catalog:
    return Catalog(materials=materials, assemblies=assemblies)
