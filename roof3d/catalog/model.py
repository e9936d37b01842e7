"""Materials and assemblies as frozen values, read from TOML data and checked."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from roof3d.tolerance import DEFAULT, Tolerance

UNDERLAYMENT: Final = "underlayment"
"""Role of the layer that is doubled on the lower slopes."""


class MaterialForm(StrEnum):
    """How a material comes."""

    DECK = "deck"
    SHEET = "sheet"
    SHINGLE = "shingle"
    STRIP = "strip"
    METAL = "metal"
    LIQUID = "liquid"
    FASTENER = "fastener"


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One generic product. Lengths in metres; 0 where a size does not apply.

    Attributes
    ----------
    id, name : str
    form : MaterialForm
    thickness, width, length : float
        True thickness; roll or strip width (for a shingle its height up the slope, for
        a metal its flange, for a fastener its head); roll, strip or piece length.
    exposure : float
        Exposed height of a shingle course, 0 for others.
    side_lap, end_lap : float
        Least laps.
    standard : str
        Number of its material standard, or empty.
    purpose : str
        What it is for, in plain words.
    source : str
        Where the values come from, or ``common practice, no source``; all of
        ``sources`` in one line.
    note : str
        What else the data says, in plain words; may be empty.
    sources : tuple[tuple[str, str], ...]
        For each value given, its name and where it comes from.
    """

    id: str
    name: str
    form: MaterialForm
    purpose: str
    source: str
    thickness: float = 0.0
    width: float = 0.0
    length: float = 0.0
    exposure: float = 0.0
    side_lap: float = 0.0
    end_lap: float = 0.0
    standard: str = ""
    note: str = ""
    sources: tuple[tuple[str, str], ...] = ()

    def source_of(self, value: str) -> str:
        """Return where one value comes from, by its field name; KeyError if not given."""
        return dict(self.sources)[value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of an assembly, bottom up: a material id, its role, how it is held."""

    material: str
    role: str
    fastening: str
    source: str


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
    """

    id: str
    name: str
    kind: str
    least_slope: float
    most_slope: float
    slope_source: str
    layers: tuple[Layer, ...]
    double_underlayment_below: float = 0.0
    double_underlayment: str = ""
    double_underlayment_source: str = ""
    special_attachment_above: float = math.inf
    special_attachment_source: str = ""
    uses_heat: bool = False

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
