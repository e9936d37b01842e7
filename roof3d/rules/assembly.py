"""Which assembly lies on each plane: by slope and the model's wishes, or as it names it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import CatalogError, Fault, SpecError
from roof3d.roof.model import Kind, Plane, Roof
from roof3d.rules.bands import pitch_beside
from roof3d.spec.model import RoofSpec
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import format_pitch

_SHOWN = 40
"""Longest name that a message repeats."""

_KIND_OF_ASSEMBLY: Final = {Kind.LOW: "membrane", Kind.STEEP: "shingle"}


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyChoice:
    """What lies on one plane, and why.

    Attributes
    ----------
    plane : str
        Plane id.
    assembly : str
        Assembly id; the catalog has it.
    why : str
        One clause in plain words: by rule, or who named it.
    refused : str
        Id of the assembly that the model wishes for planes of this kind, where it may not
        lie at this plane's slope; empty otherwise.
    """

    plane: str
    assembly: str
    why: str
    refused: str = ""


def may_lie(assembly: Assembly, slope: float, *, tol: Tolerance = DEFAULT) -> bool:
    """Tell whether a slope lies within an assembly's limits, both included.

    Parameters
    ----------
    assembly : Assembly
    slope : float
        Rise over run, 0 or more.
    tol : Tolerance
        Its ``slope`` keeps rounding from crossing a limit.
    """
    return assembly.least_slope - tol.slope <= slope <= assembly.most_slope + tol.slope


def choose_assemblies(
    spec: RoofSpec, roof: Roof, catalog: Catalog, *, tol: Tolerance = DEFAULT
) -> tuple[AssemblyChoice, ...]:
    """Choose the assembly of every plane.

    The model's cutoff alone parts low planes from steep ones. By rule a low plane gets what
    the model wishes for low planes, or else the catalog's first membrane; a steep one the
    wish for steep planes, or else the first shingles. A wish that may not lie at the plane's
    slope gives way to the first of its kind that may, and so does a first that may not; where
    none may, either stays. A section's ``assembly`` overrides the rule, a ``[[plane]]`` entry
    overrides both: nothing here asks whether those are allowed at the slope, ``check_roof``
    tells that.

    Parameters
    ----------
    spec : RoofSpec
    roof : Roof
        Built from that spec.
    catalog : Catalog
    tol : Tolerance
        Its ``slope`` keeps rounding from crossing a limit.

    Returns
    -------
    tuple[AssemblyChoice, ...]
        One a plane, in the order of ``roof.planes``.

    Raises
    ------
    SpecError
        Where the model names an assembly that the catalog has not, a plane that the roof
        has not, or one plane twice; lists every fault and what is allowed.
    CatalogError
        Where the catalog has no assembly of the kind that a plane needs.
    """
    faults = tuple(_faults(spec, roof, catalog))
    if faults:
        raise SpecError(faults, source=spec.name)
    of_section = {section.id: section.assembly for section in spec.sections if section.assembly}
    of_plane = {plane.id: plane.assembly for plane in spec.planes}
    by_rule = partial(_choose_by_rule, spec=spec, catalog=catalog, tol=tol)
    return tuple(_named(plane, of_section, of_plane) or by_rule(plane) for plane in roof.planes)


def _named(
    plane: Plane, of_section: Mapping[str, str], of_plane: Mapping[str, str]
) -> AssemblyChoice | None:
    if plane.id in of_plane:
        return AssemblyChoice(
            plane=plane.id, assembly=of_plane[plane.id], why="the model names it for this plane"
        )
    if plane.section in of_section:
        return AssemblyChoice(
            plane=plane.id,
            assembly=of_section[plane.section],
            why=f"the model names it for section {plane.section}",
        )
    return None


def _choose_by_rule(
    plane: Plane, *, spec: RoofSpec, catalog: Catalog, tol: Tolerance
) -> AssemblyChoice:
    kind = _KIND_OF_ASSEMBLY[plane.kind]
    of_kind = [assembly for assembly in catalog.assemblies if assembly.kind == kind]
    fit = [assembly for assembly in of_kind if may_lie(assembly, plane.slope, tol=tol)]
    cutoff, low = spec.rules.low_slope_cutoff, plane.kind is Kind.LOW
    side = (
        f"slope {pitch_beside(plane.slope, cutoff)} is {'below' if low else 'not below'} the "
        f"model's cutoff of {pitch_beside(cutoff, plane.slope)}"
    )
    wish = spec.rules.low_assembly if low else spec.rules.steep_assembly
    if wish:
        return _choose_wished(plane, catalog.assembly(wish), fit, side, tol)
    if not of_kind:
        raise CatalogError(f"no assembly of kind {kind!r} for {plane.kind} planes", where="catalog")
    if not fit:
        side += f", and no {kind} of the catalog may lie so"
    elif fit[0] is not of_kind[0]:
        side += f", and this is the first {kind} of the catalog that may lie so"
    return AssemblyChoice(plane=plane.id, assembly=(fit or of_kind)[0].id, why=f"by rule: {side}")


def _choose_wished(
    plane: Plane, wished: Assembly, fit: list[Assembly], side: str, tol: Tolerance
) -> AssemblyChoice:
    if may_lie(wished, plane.slope, tol=tol):
        why = f"the model wishes it for {plane.kind} planes: {side}"
        return AssemblyChoice(plane=plane.id, assembly=wished.id, why=why)
    if not fit:
        why = (
            f"the model wishes it for {plane.kind} planes: {side}; it may not lie so, and neither "
            f"may any {_KIND_OF_ASSEMBLY[plane.kind]} of the catalog"
        )
        return AssemblyChoice(plane=plane.id, assembly=wished.id, why=why)
    why = (
        f"by rule: {side}; the model wishes {wished.id} for {plane.kind} planes, which "
        f"{limits_of(wished, plane.slope)}, and this is the first that may lie so"
    )
    return AssemblyChoice(plane=plane.id, assembly=fit[0].id, why=why, refused=wished.id)


def limits_of(assembly: Assembly, slope: float) -> str:
    """Say which limit of an assembly a slope breaks, ``lies only on 2:12 and steeper``."""
    if slope < assembly.least_slope:
        return f"lies only on {format_pitch(assembly.least_slope)} and steeper"
    return f"lies only on {format_pitch(assembly.most_slope)} and flatter"


def _faults(spec: RoofSpec, roof: Roof, catalog: Catalog) -> Iterable[Fault]:
    assemblies = [assembly.id for assembly in catalog.assemblies]
    planes = [plane.id for plane in roof.planes]
    for key in ("low_assembly", "steep_assembly"):
        wish = getattr(spec.rules, key)
        if wish and wish not in assemblies:
            yield _unknown(f"rules.{key}", "assembly", wish, assemblies)
    for index, section in enumerate(spec.sections):
        if section.assembly and section.assembly not in assemblies:
            place = f'section[{index}] "{section.id}".assembly'
            yield _unknown(place, "assembly", section.assembly, assemblies)
    seen: set[str] = set()
    for index, plane in enumerate(spec.planes):
        place = f'plane[{index}] "{plane.id[:_SHOWN]}"'
        if plane.id not in planes:
            yield _unknown(f"{place}.id", "plane", plane.id, planes)
        if plane.id in seen:
            yield Fault(
                where=f"{place}.id",
                message=f'"{plane.id[:_SHOWN]}" is given twice',
                hint="keep one entry a plane",
            )
        seen.add(plane.id)
        if plane.assembly not in assemblies:
            yield _unknown(f"{place}.assembly", "assembly", plane.assembly, assemblies)


def _unknown(where: str, thing: str, name: str, allowed: list[str]) -> Fault:
    return Fault(
        where=where,
        message=f'there is no {thing} "{name[:_SHOWN]}"',
        hint=f"allowed: {', '.join(allowed)}",
    )
