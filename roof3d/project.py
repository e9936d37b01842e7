"""The one place where the steps follow each other: spec, roof, assemblies, findings."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.load import load_catalog
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.rules.assembly import AssemblyChoice, choose_assemblies
from roof3d.rules.check import check_roof
from roof3d.spec.model import RoofSpec


@dataclass(frozen=True, slots=True, kw_only=True)
class Project:
    """A model and all that follows from it.

    Attributes
    ----------
    spec : RoofSpec
    roof : Roof
    catalog : Catalog
    choices : tuple[AssemblyChoice, ...]
        One a plane, in the order of ``roof.planes``.
    findings : tuple[Finding, ...]
        What must be told, worst first, then in the order of planes.
    """

    spec: RoofSpec
    roof: Roof
    catalog: Catalog
    choices: tuple[AssemblyChoice, ...]
    findings: tuple[Finding, ...]

    def assembly_of(self, plane_id: str) -> str:
        """Return the id of the assembly chosen for a plane; KeyError if there is no such plane."""
        for choice in self.choices:
            if choice.plane == plane_id:
                return choice.assembly
        raise KeyError(plane_id)


def build(spec: RoofSpec) -> Project:
    """Build the roof of a model and decide what lies on each plane.

    Parameters
    ----------
    spec : RoofSpec
        As ``roof3d.load`` returns it.

    Returns
    -------
    Project
        Pure and immutable: the same spec gives the same project.

    Raises
    ------
    SpecError
        Where the model names a plane or an assembly that does not exist.
    GeometryError
        Where the sections cannot be built into a roof.
    """
    roof, roof_findings = build_roof(spec)
    catalog = load_catalog()
    choices = choose_assemblies(spec, roof, catalog)
    findings = roof_findings + check_roof(spec, roof, catalog, choices)
    worst_first = list(Severity)[::-1]
    return Project(
        spec=spec,
        roof=roof,
        catalog=catalog,
        choices=choices,
        findings=tuple(sorted(findings, key=lambda finding: worst_first.index(finding.severity))),
    )
