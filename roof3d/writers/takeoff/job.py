"""What a take-off is written from: the model's name and units, what is laid, what is counted."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from roof3d.catalog.material import MaterialForm
from roof3d.errors import Finding
from roof3d.layout.model import LaidLayer, Layout
from roof3d.project import Project
from roof3d.rules.cautions import cautions_for
from roof3d.spec.model import OpeningKind
from roof3d.takeoff.cost import PricedTakeoff, price_takeoff
from roof3d.takeoff.model import Item, Use
from roof3d.takeoff.prices import Labour, Prices
from roof3d.units import Units, format_length
from roof3d.writers.takeoff.amounts import amount_in, places_of

MOST_PLACES = 6
"""More places than this are summed up by section."""


@dataclass(frozen=True, kw_only=True)
class Job:
    """One roof's layout and its take-off with costs, and what must stand beside them.

    Attributes
    ----------
    name : str
        Of the model.
    units : Units
        That people are shown.
    layout : Layout
    priced : PricedTakeoff
        Without a price anywhere where none was given.
    costed : bool
        Whether the user gave prices or rates.
    findings : tuple[Finding, ...]
        Of the roof, its layout, the take-off and the prices.
    cautions : tuple[str, ...]
    holes : tuple[tuple[str, str], ...]
        Ids of pipes, drains and scuppers, each with its size in words.
    """

    name: str
    units: Units
    layout: Layout
    priced: PricedTakeoff
    costed: bool = False
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = ()
    holes: tuple[tuple[str, str], ...] = ()

    @property
    def allowance(self) -> float:
        """Share of what is in place that stays for damage and error."""
        return float(self.priced.allowance / 100)

    @property
    def items(self) -> tuple[Item, ...]:
        """The list, without costs."""
        return self.priced.takeoff.items

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the numbers rest on, the allowance included."""
        if share := self.priced.allowance:
            told = (
                f"Allowance: at least {share:f} % of what is in place is left for damage and error"
                " when all is laid; what is left over anyway counts towards it, scrap does not."
            )
        else:
            told = "Nothing is counted for damage or error."
        return (*self.priced.takeoff.assumptions, told)

    def name_of(self, material: str) -> str:
        """Return a material's name on the list, or its id where it is not on it."""
        return self._names.get(material, material)

    @cached_property
    def _names(self) -> dict[str, str]:
        return {item.material: item.name for item in self.items}

    @cached_property
    def places(self) -> dict[str, tuple[str, ...]]:
        """For each id of a layer or strip, the planes that it lies on."""
        layers = {
            layer.id: (layer.plane,) for plane in self.layout.planes for layer in plane.layers
        }
        return layers | {strip.id: strip.planes for strip in self.layout.strips}

    @cached_property
    def hole_places(self) -> dict[str, tuple[str, ...]]:
        """For each id of a strip round a pipe, drain or scupper, that with its size."""
        names = {hole: f"{hole}, {words}" for hole, words in self.holes}
        strips = [strip for strip in self.layout.strips if strip.edge in names]
        return {strip.id: (names[strip.edge],) for strip in strips}


def build_job(
    project: Project,
    *,
    prices: Prices | None = None,
    labour: Labour | None = None,
    allowance: Decimal = Decimal(0),
) -> Job:
    """Lay out and count a project's roof, and price it as far as prices are given.

    Parameters
    ----------
    project : Project
    prices : Prices or None
    labour : Labour or None
    allowance : Decimal
        Percentage of what is in place, ordered on top, 0 to 100.

    Raises
    ------
    LayoutError
        Where pieces cannot be set out or cut as the assemblies ask.
    ReadError
        Where a price is for a unit that its item cannot be counted in.
    """
    priced = price_takeoff(
        project.takeoff,
        prices=prices,
        labour=labour,
        planes=project.roof.planes,
        allowance=allowance,
    )
    found = (*project.laid_findings, *project.takeoff.findings, *priced.findings)
    return Job(
        name=project.spec.name,
        units=project.spec.units,
        layout=project.layout,
        priced=priced,
        costed=prices is not None or labour is not None,
        findings=tuple(dict.fromkeys(found)),
        cautions=cautions_for(project.choices, project.catalog, project.spec),
        holes=tuple(
            (opening.id, f"{format_length(opening.size[0], project.spec.units)} {opening.kind}")
            for opening in project.spec.openings
            if opening.kind in {OpeningKind.PIPE, OpeningKind.DRAIN, OpeningKind.SCUPPER}
        ),
    )


def laid_area(layer: LaidLayer) -> float:
    """Return the area of a layer's trimmed pieces, laps included, square metres."""
    return float(math.fsum(layer.pieces.areas))


def sum_by_place(job: Job, item: Item) -> tuple[Use, ...]:
    """Sum an item's uses by plane, or by section where there are many planes.

    Parameters
    ----------
    job : Job
    item : Item

    Returns
    -------
    tuple[Use, ...]
        In the order of the item's uses. What straddles two planes stands under both names;
        what is neither layer nor strip, an opening for instance, is a place of its own. A
        unit made for a pipe, drain or scupper stands under that.
    """
    laid = job.places
    if item.form is MaterialForm.UNIT:
        laid = laid | job.hole_places
    planes = [laid.get(use.of, (use.of,)) for use in item.used]
    by_plane = _summed(zip(planes, item.used, strict=True))
    if len(by_plane) <= MOST_PLACES:
        return by_plane
    section = {each.plane.id: each.plane.section for each in job.layout.planes}
    sections = [tuple(dict.fromkeys(section.get(name, name) for name in group)) for group in planes]
    return _summed(zip(sections, item.used, strict=True))


def used_text(job: Job, item: Item, *, between: str = "; ") -> str:
    """Say where an item goes, each place with its net amount.

    Parameters
    ----------
    job : Job
    item : Item
    between : str
        What parts two places.

    Returns
    -------
    str
        ``main.south 812.3; porch.south 240.0``, in the unit that the item is shown in.
    """
    places = places_of(item.unit, job.units)
    return between.join(
        f"{use.of} {amount_in(use.net, item.unit, job.units):,.{places}f}"
        for use in sum_by_place(job, item)
    )


def _summed(placed: Iterable[tuple[tuple[str, ...], Use]]) -> tuple[Use, ...]:
    uses: dict[str, list[Use]] = {}
    for group, use in placed:
        uses.setdefault(" + ".join(group), []).append(use)
    return tuple(
        Use(
            of=place,
            net=math.fsum(use.net for use in group),
            pieces=sum(use.pieces for use in group),
        )
        for place, group in uses.items()
    )
