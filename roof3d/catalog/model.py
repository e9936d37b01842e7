"""Assemblies and the catalog as frozen values, read from TOML data and checked.

What a material is stands apart from how an assembly lays it: a roll has its width and its
least laps, the assembly says what share of it is laid first and how far it runs past an edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from roof3d.catalog.laying import Layer, StripRule
from roof3d.catalog.material import Material
from roof3d.tolerance import DEFAULT, Tolerance

UNDERLAYMENT: Final = "underlayment"
"""Role of the layer that is doubled on the lower slopes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """An ordered build-up and the slopes on which it may lie.

    Attributes
    ----------
    kind : str
        ``membrane`` or ``shingle``.
    least_slope, most_slope : float
        Rise over run; ``most_slope`` may be inf.
    slope_source : str
        Edition and clause of the least slope.
    layers : tuple[Layer, ...]
        Bottom up, as laid where one underlayment is enough.
    strips : tuple[StripRule, ...]
        In the order of laying.
    double_underlayment_below : float
        Slopes below this need double underlayment; 0 where it never does.
    double_underlayment : str
        Id of the material that then takes the place of the ``underlayment`` layer's.
    double_underlayment_source : str
        Edition and clause.
    special_attachment_above : float
        Slopes above this need another way of fastening; inf where none does.
    special_attachment_source : str
        Edition and clause.
    uses_heat : bool
        Whether hot tools are used (adds the fire-watch caution).
    not_counted : str
        What it takes besides and no layer or strip tells, in plain words; may be empty.
    """

    id: str
    name: str
    kind: str
    least_slope: float
    most_slope: float
    slope_source: str
    layers: tuple[Layer, ...]
    strips: tuple[StripRule, ...] = ()
    double_underlayment_below: float = 0.0
    double_underlayment: str = ""
    double_underlayment_source: str = ""
    special_attachment_above: float = math.inf
    special_attachment_source: str = ""
    uses_heat: bool = False
    not_counted: str = ""

    def needs_double_underlayment(self, slope: float, *, tol: Tolerance = DEFAULT) -> bool:
        """Return whether a plane of this slope lies below the single-underlayment limit."""
        return slope < self.double_underlayment_below - tol.slope

    def layers_at(self, slope: float, *, tol: Tolerance = DEFAULT) -> tuple[Layer, ...]:
        """Return the layers as laid on a plane of that slope, bottom up.

        Parameters
        ----------
        slope : float
            Rise over run, 0 or more.
        tol : Tolerance
            Its ``slope`` keeps rounding from crossing a limit.

        Returns
        -------
        tuple[Layer, ...]
            ``layers``, with the double underlayment in place of the single one where the
            slope asks for it. Same length and roles at every slope.
        """
        if not self.needs_double_underlayment(slope, tol=tol):
            return self.layers
        return tuple(
            replace(
                layer,
                material=self.double_underlayment,
                source=self.double_underlayment_source,
            )
            if layer.role == UNDERLAYMENT
            else layer
            for layer in self.layers
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalog:
    """Materials and assemblies by id, in the order of the data."""

    materials: tuple[Material, ...]
    assemblies: tuple[Assembly, ...]

    def material(self, material_id: str) -> Material:
        """Return the material of that id; KeyError if there is none."""
        for material in self.materials:
            if material.id == material_id:
                return material
        raise KeyError(material_id)

    def assembly(self, assembly_id: str) -> Assembly:
        """Return the assembly of that id; KeyError if there is none."""
        for assembly in self.assemblies:
            if assembly.id == assembly_id:
                return assembly
        raise KeyError(assembly_id)
