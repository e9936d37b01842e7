"""What the temperature of the day asks of the materials in use: the method, or to wait."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Final, TypeAlias

from roof3d.catalog.laying import Border, StripRule
from roof3d.catalog.material import Material, Method, WeatherBand
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.model import Edge, Role, Roof
from roof3d.rules.assembly import AssemblyChoice
from roof3d.spec.model import OpeningKind, RoofSpec
from roof3d.units import Units, format_temperature

Place: TypeAlias = tuple[Border, str]
"""A border, and the kind of the opening that it belongs to; empty for an edge."""

_RIM: Final = frozenset({Border.OPENING_FOOT, Border.OPENING_SIDE, Border.OPENING_HEAD})
_ROUND: Final = {
    OpeningKind.PIPE: frozenset({Border.PIPE}),
    OpeningKind.DRAIN: frozenset({Border.DRAIN}),
}
_ANYWHERE: Final = frozenset(
    (border, kind) for border in Border for kind in ("", *(kind.value for kind in OpeningKind))
)
_IN_WORDS: Final = {
    Method.SUN: "warm enough to lay it, the sun does the rest",
    Method.ROLLED: "it bonds where it is rolled down",
    Method.HOT_AIR: "weld it with hot air",
}


def materials_of(
    assembly: Assembly,
    spec: RoofSpec,
    slope: float = math.inf,
    borders: Iterable[Place] | None = None,
) -> Iterator[str]:
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
    borders : iterable of Place, optional
        Round the planes that it lies on; without it strips lie along every one.

    Yields
    ------
    str
        Layers bottom up, then strips in the order of laying, each with its bed and primer;
        an id may come more than once. Fasteners not.
    """
    for layer in assembly.layers_at(slope):
        if spec.site.ice_barrier or not layer.ice_only:
            yield from filter(None, (layer.material, layer.bed, layer.primer))
    around = _ANYWHERE if borders is None else frozenset(borders)
    for strip in assembly.strips:
        if _is_laid(strip, spec, around):
            yield from filter(None, (strip.material, strip.bed, strip.primer))


def _is_laid(strip: StripRule, spec: RoofSpec, around: frozenset[Place]) -> bool:
    if strip.ice_only and not spec.site.ice_barrier:
        return False
    if strip.vent and not spec.layout.ridge_vent:
        return False
    if strip.rake_starter and not spec.layout.rake_starter:
        return False
    vented = {Border.RIDGE} if strip.no_vent and spec.layout.ridge_vent else set()
    there = any(
        border in strip.at and border not in vented and strip.opening in {"", opening}
        for border, opening in around
    )
    return there and strip.valley in {"", spec.layout.valley}


def places_round(roof: Roof, kinds: Mapping[str, str]) -> dict[str, frozenset[Place]]:
    """Return what lies round each plane: its borders, those of openings with their kind.

    Parameters
    ----------
    roof : Roof
    kinds : mapping of str to str
        Plane id to ``membrane`` or ``shingle``.

    Returns
    -------
    dict[str, frozenset[Place]]
        By plane id. An opening that is no pipe counts with all its sides; behind a wide one
        lies a valley on either side of a cricket.
    """
    from roof3d.layout.strips.lines import needs_cricket  # noqa: PLC0415 - measure does without

    found: dict[str, set[Place]] = {plane.id: set() for plane in roof.planes}
    for edge in roof.edges:
        joint = len({kinds[plane] for plane in edge.planes}) > 1
        for plane in edge.planes:
            found[plane].add((_border(edge, plane, joint=joint), ""))
    for opening in roof.openings:
        rim = _ROUND.get(opening.kind, _RIM)
        if needs_cricket(opening):
            rim = rim | {Border.VALLEY}
        for plane in opening.planes:
            found[plane] |= {(border, opening.kind.value) for border in rim}
    for scupper in roof.scuppers:
        found[scupper.plane].add((Border.SCUPPER, OpeningKind.SCUPPER.value))
    return {plane: frozenset(borders) for plane, borders in found.items()}


def _border(edge: Edge, plane: str, *, joint: bool) -> Border:
    if edge.role is Role.VALLEY:
        return Border.JOINT_VALLEY if joint else Border.VALLEY
    if edge.role not in {Role.TRANSITION, Role.PITCH_BREAK}:
        return Border(edge.role.value)
    if edge.planes[0] == plane:
        return Border.JOINT_UPPER if joint else Border.BREAK_UPPER
    return Border.JOINT_LOWER if joint else Border.BREAK_LOWER


def sensitive_materials(
    spec: RoofSpec,
    catalog: Catalog,
    choices: Iterable[AssemblyChoice],
    roof: Roof | None = None,
) -> tuple[Material, ...]:
    """Return the materials in use that a temperature matters to.

    Parameters
    ----------
    spec : RoofSpec
    catalog : Catalog
    choices : iterable of AssemblyChoice
        The planes in view.
    roof : Roof, optional
        Tells where the underlayment is doubled and which strips are laid; without it none is
        doubled and all are.

    Returns
    -------
    tuple[Material, ...]
        Each once, in the order of planes, then as laid.
    """
    chosen = {choice.plane: choice.assembly for choice in choices}
    kinds = {plane: catalog.assembly(name).kind for plane, name in chosen.items()}
    slopes = {plane.id: plane.slope for plane in roof.planes} if roof else {}
    around = places_round(roof, kinds) if roof else {}
    laid = dict.fromkeys(
        (name, slopes.get(plane, math.inf), around.get(plane)) for plane, name in chosen.items()
    )
    ids = dict.fromkeys(
        material
        for name, slope, borders in laid
        for material in materials_of(catalog.assembly(name), spec, slope, borders)
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
        Tells where the underlayment is doubled and which strips are laid.
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
    return tuple(
        _day_of(material, celsius, spec.units)
        for material in sensitive_materials(spec, catalog, choices, roof)
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
