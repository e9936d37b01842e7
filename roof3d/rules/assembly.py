"""Which assembly lies on each plane: by its kind, unless the model names another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from roof3d.catalog.model import Catalog
from roof3d.errors import CatalogError, Fault, SpecError
from roof3d.roof.model import Kind, Plane, Roof
from roof3d.rules.bands import pitch_beside
from roof3d.spec.model import RoofSpec

_SHOWN = 40
"""Longest name that a message repeats."""

_KIND_OF_ASSEMBLY = {Kind.LOW: "membrane", Kind.STEEP: "shingle"}


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
    """

    plane: str
    assembly: str
    why: str


def choose_assemblies(spec: RoofSpec, roof: Roof, catalog: Catalog) -> tuple[AssemblyChoice, ...]:
    """Choose the assembly of every plane.

    By rule a low plane gets the catalog's first membrane and a steep plane its first
    shingles; the model's cutoff alone parts them. A section's ``assembly`` overrides the
    rule, a ``[[plane]]`` entry overrides both. Nothing here asks whether the choice is
    allowed at the slope: ``check_roof`` tells that.

    Parameters
    ----------
    spec : RoofSpec
    roof : Roof
        Built from that spec.
    catalog : Catalog

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
    return tuple(_choose(plane, of_section, of_plane, spec, catalog) for plane in roof.planes)


def _choose(
    plane: Plane,
    of_section: dict[str, str],
    of_plane: dict[str, str],
    spec: RoofSpec,
    catalog: Catalog,
) -> AssemblyChoice:
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
    cutoff = spec.rules.low_slope_cutoff
    side = "below" if plane.kind is Kind.LOW else "not below"
    return AssemblyChoice(
        plane=plane.id,
        assembly=_by_rule(plane.kind, catalog),
        why=(
            f"by rule: slope {pitch_beside(plane.slope, cutoff)} is {side} the model's cutoff of "
            f"{pitch_beside(cutoff, plane.slope)}"
        ),
    )


def _by_rule(kind: Kind, catalog: Catalog) -> str:
    wanted = _KIND_OF_ASSEMBLY[kind]
    for assembly in catalog.assemblies:
        if assembly.kind == wanted:
            return assembly.id
    raise CatalogError(f"no assembly of kind {wanted!r} for {kind} planes", where="catalog")


def _faults(spec: RoofSpec, roof: Roof, catalog: Catalog) -> Iterable[Fault]:
    assemblies = [assembly.id for assembly in catalog.assemblies]
    planes = [plane.id for plane in roof.planes]
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
