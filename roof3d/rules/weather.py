"""What the temperature of the day asks of the materials in use: the method, or to wait."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from roof3d.catalog.laying import StripRule
from roof3d.catalog.material import Material, Method, WeatherBand
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.model import Roof
from roof3d.rules.assembly import AssemblyChoice
from roof3d.spec.model import RoofSpec
from roof3d.units import Units, format_temperature

_IN_WORDS: Final = {
    Method.SUN: "warm enough to lay it, the sun does the rest",
    Method.ROLLED: "it bonds where it is rolled down",
    Method.HOT_AIR: "weld it with hot air",
}


def materials_of(assembly: Assembly, spec: RoofSpec, slope: float = math.inf) -> Iterator[str]:
    """Return the ids of what an assembly lays on this model's roof, liquids too.

    Parameters
    ----------
    assembly : Assembly
    spec : RoofSpec
        Its site tells whether there is an ice barrier, its layout how valleys are made and
        whether ridges are vented.
    slope : float
        Rise over run of the plane, which may double the underlayment; it does not where none
        is given.

    Yields
    ------
    str
        Layers bottom up, then strips in the order of laying, each with its bed and primer;
        an id may come more than once. Fasteners not.
    """
    for layer in assembly.layers_at(slope):
        if spec.site.ice_barrier or not layer.ice_only:
            yield from filter(None, (layer.material, layer.bed, layer.primer))
    for strip in assembly.strips:
        if _is_laid(strip, spec):
            yield from filter(None, (strip.material, strip.bed, strip.primer))


def _is_laid(strip: StripRule, spec: RoofSpec) -> bool:
    if strip.ice_only and not spec.site.ice_barrier:
        return False
    if strip.vent and not spec.layout.ridge_vent:
        return False
    return strip.valley in {"", spec.layout.valley}


def sensitive_materials(
    spec: RoofSpec,
    catalog: Catalog,
    choices: Iterable[AssemblyChoice],
    slopes: Mapping[str, float] | None = None,
) -> tuple[Material, ...]:
    """Return the materials in use that a temperature matters to.

    Parameters
    ----------
    spec : RoofSpec
    catalog : Catalog
    choices : iterable of AssemblyChoice
        The planes in view.
    slopes : mapping of str to float, optional
        Rise over run by plane id; without it no underlayment is doubled.

    Returns
    -------
    tuple[Material, ...]
        Each once, in the order of planes, then as laid.
    """
    laid = dict.fromkeys(
        (choice.assembly, slopes[choice.plane] if slopes else math.inf) for choice in choices
    )
    ids = dict.fromkeys(
        material
        for name, slope in laid
        for material in materials_of(catalog.assembly(name), spec, slope)
    )
    materials = (catalog.material(material) for material in ids)
    return tuple(material for material in materials if material.weather)


def needs_hot_air(spec: RoofSpec, catalog: Catalog, choices: Iterable[AssemblyChoice]) -> bool:
    """Tell whether the day of laying makes hot air the method of some material in use.

    A doubled underlayment is left out of account: it is nailed on any day.

    Parameters
    ----------
    spec : RoofSpec
        Without a temperature the answer is no.
    catalog : Catalog
    choices : iterable of AssemblyChoice
        The planes in view.
    """
    celsius = spec.site.temperature
    if celsius is None:
        return False
    bands = (material.band_at(celsius) for material in sensitive_materials(spec, catalog, choices))
    return any(band is not None and band.method is Method.HOT_AIR for band in bands)


def check_weather(
    spec: RoofSpec, roof: Roof, catalog: Catalog, choices: Iterable[AssemblyChoice]
) -> tuple[Finding, ...]:
    """Tell what the temperature of the day asks of each material in use.

    Parameters
    ----------
    spec : RoofSpec
    roof : Roof
        Its slopes tell where the underlayment is doubled.
    catalog : Catalog
    choices : iterable of AssemblyChoice
        One for every plane of the roof.

    Returns
    -------
    tuple[Finding, ...]
        One a material that a temperature matters to, in the order of planes, then as laid.
        Empty where the model gives no temperature.
    """
    celsius = spec.site.temperature
    if celsius is None:
        return ()
    slopes = {plane.id: plane.slope for plane in roof.planes}
    return tuple(
        _day_of(material, celsius, spec.units)
        for material in sensitive_materials(spec, catalog, choices, slopes)
    )


def _day_of(material: Material, celsius: float, units: Units) -> Finding:
    band = material.band_at(celsius)
    if band is None or band.method is Method.NOT_AT_ALL:
        return _wait(material, band, celsius, units)
    hot_air = band.method is Method.HOT_AIR
    day = f"{material.name} at {format_temperature(celsius, units)}: {_IN_WORDS[band.method]}"
    return Finding(
        code="R3D-METHOD",
        severity=Severity.CAUTION if hot_air else Severity.NOTE,
        where=f"materials[{material.id}]",
        message=_with_caution(day, band),
        source=band.source,
    )


def _wait(material: Material, band: WeatherBand | None, celsius: float, units: Units) -> Finding:
    """Tell that a material cannot be laid that day; beyond its bands nothing is known of it."""
    nearest = band or (
        material.weather[0] if celsius < material.weather[0].least else material.weather[-1]
    )
    workable = [known for known in material.weather if known.method is not Method.NOT_AT_ALL]
    cold = any(known.least > celsius for known in workable)
    if cold:
        limit = min(known.least for known in workable if known.least > celsius)
        span = f"it needs {format_temperature(limit, units)} or more"
    elif workable:
        limit = max(known.most for known in workable)
        span = f"it must stay below {format_temperature(limit, units)}"
    else:
        span = "no temperature is known at which it may be laid"
    day = (
        f"{material.name} at {format_temperature(celsius, units)}: too {'cold' if cold else 'hot'} "
        f"to lay, {span}; wait, or lay under cover"
    )
    return Finding(
        code="R3D-TOO-COLD" if cold else "R3D-TOO-HOT",
        severity=Severity.CAUTION,
        where=f"materials[{material.id}]",
        message=_with_caution(day, band),
        source=nearest.source,
    )


def _with_caution(day: str, band: WeatherBand | None) -> str:
    return f"{day}. {band.caution}" if band is not None and band.caution else day
