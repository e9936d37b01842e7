"""The one place where the steps follow each other, from the spec to the take-off."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from roof3d.catalog.load import add_catalog, load_catalog
from roof3d.catalog.model import Catalog
from roof3d.errors import Finding, Severity
from roof3d.roof.build import build_roof
from roof3d.roof.model import Roof
from roof3d.rules.assembly import AssemblyChoice, choose_assemblies
from roof3d.rules.check import check_roof
from roof3d.rules.weather import check_weather
from roof3d.spec.model import RoofSpec
from roof3d.tolerance import DEFAULT

if TYPE_CHECKING:
    from collections.abc import Callable

    from roof3d.laps.laid.asked import AskedStrip
    from roof3d.layout.model import Layout
    from roof3d.takeoff.model import Takeoff


@dataclass(frozen=True, kw_only=True)
class Project:
    """A model and all that follows from it.

    ``layout``, ``lap_findings`` and ``takeoff`` are worked out when first asked for, and kept.

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

    @property
    def every_finding(self) -> tuple[Finding, ...]:
        """All findings, those of the laying and of its laps too, worst first.

        Raises
        ------
        LayoutError
            As ``layout`` does.
        """
        return _worst_first(self.laid_findings + self.lap_findings)

    @property
    def laid_findings(self) -> tuple[Finding, ...]:
        """All findings but those of the laps, worst first: what a take-off tells.

        Raises
        ------
        LayoutError
            As ``layout`` does.
        """
        return _worst_first(self.findings + self.layout.findings)

    def assembly_of(self, plane_id: str) -> str:
        """Return the id of the assembly chosen for a plane; KeyError if there is no such plane."""
        for choice in self.choices:
            if choice.plane == plane_id:
                return choice.assembly
        raise KeyError(plane_id)

    @cached_property
    def layout(self) -> Layout:
        """Every layer set out on every plane.

        Raises
        ------
        LayoutError
            Where pieces cannot be set out as the assemblies ask.
        """
        return self._lay_out(None)

    @cached_property
    def lap_findings(self) -> tuple[Finding, ...]:
        """What the proof of laps tells of every piece of ``layout``.

        Raises
        ------
        LayoutError
            As ``layout`` does.
        """
        from roof3d.laps.layout import check_layout  # noqa: PLC0415 - measure does without

        return check_layout(
            self.layout,
            self.catalog,
            units=self.spec.units,
            even_laps=self.spec.layout.even_laps,
            asked=self.strips_asked,
        )

    @property
    def strips_asked(self) -> tuple[AskedStrip, ...]:
        """Every strip that the assemblies ask for along the edges of the roof, whatever is laid."""
        from roof3d.laps.laid.asked import strips_asked  # noqa: PLC0415 - measure does without
        from roof3d.layout.strips.lines import Wishes  # noqa: PLC0415 - the same

        assembly_of = {choice.plane: choice.assembly for choice in self.choices}
        wishes = Wishes(
            catalog=self.catalog,
            site=self.spec.site,
            layout=self.spec.layout,
            units=self.spec.units,
            tol=DEFAULT,
        )
        return strips_asked(self.roof, assembly_of, wishes)

    def lay_out(self, on_plane: Callable[[int, int], None]) -> None:
        """Work out ``layout`` now, if it is not yet, and tell how far it is.

        Parameters
        ----------
        on_plane : callable of (int, int)
            Told how many planes of how many are laid, after each.

        Raises
        ------
        LayoutError
            As ``layout`` does.
        """
        if "layout" not in vars(self):
            vars(self)["layout"] = self._lay_out(on_plane)

    def _lay_out(self, on_plane: Callable[[int, int], None] | None) -> Layout:
        from roof3d.layout.build import lay_out  # noqa: PLC0415 - measure does without

        assembly_of = {choice.plane: choice.assembly for choice in self.choices}
        return lay_out(self.spec, self.roof, self.catalog, assembly_of, on_plane=on_plane)

    @cached_property
    def takeoff(self) -> Takeoff:
        """Everything to order, counted from the pieces of ``layout``.

        Raises
        ------
        LayoutError
            As ``layout`` does.
        """
        from roof3d.takeoff.count import count_takeoff  # noqa: PLC0415 - the same

        return count_takeoff(self.layout, self.catalog, self.spec)


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
    CatalogError
        Where the catalog that the model brings along is wrong.
    GeometryError
        Where the sections cannot be built into a roof.
    """
    roof, roof_findings = build_roof(spec)
    catalog = load_catalog()
    if spec.catalog is not None:
        catalog = add_catalog(catalog, spec.catalog.text, name=spec.catalog.name)
    choices = choose_assemblies(spec, roof, catalog)
    findings = (
        roof_findings
        + check_roof(spec, roof, catalog, choices)
        + check_weather(spec, roof, catalog, choices)
    )
    return Project(
        spec=spec, roof=roof, catalog=catalog, choices=choices, findings=_worst_first(findings)
    )


def _worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    order = list(Severity)[::-1]
    return tuple(sorted(findings, key=lambda finding: order.index(finding.severity)))
