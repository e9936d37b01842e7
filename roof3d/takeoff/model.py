"""Quantities as frozen values, in SI; each line names the pieces that it was counted from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from roof3d.catalog.material import MaterialForm
from roof3d.errors import Finding
from roof3d.tolerance import DEFAULT


class Unit(StrEnum):
    """What an item is counted in."""

    AREA = "m2"
    LENGTH = "m"
    PIECE = "piece"
    VOLUME = "m3"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Where some of an item goes.

    Attributes
    ----------
    of : str
        Id of the layer (``porch.south/cap``), strip (``porch.eave/edge-metal``) or opening.
    net : float
        In the item's unit.
    pieces : int
        How many pieces, or nails; 0 for a liquid.
    """

    of: str
    net: float
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """How pieces are cut from whole rolls, shingles, strips or metal lengths.

    Attributes
    ----------
    stock : float
        Length of a whole one, metres.
    patterns : tuple[tuple[float, ...], ...]
        One a whole one: the lengths cut from it, longest first.
    bound : int
        No cutting needs fewer whole ones than this.
    proven : bool
        Whether ``len(patterns)`` is known to be the least.
    shortest : float
        Shortest piece worth keeping, metres.
    """

    stock: float
    patterns: tuple[tuple[float, ...], ...]
    bound: int
    proven: bool
    shortest: float

    @property
    def offcuts(self) -> tuple[float, ...]:
        """What is left of each whole one, metres, in the order of ``patterns``."""
        return tuple(max(0.0, self.stock - sum(pattern)) for pattern in self.patterns)

    @property
    def usable(self) -> float:
        """Offcuts long enough to be used elsewhere, metres in all."""
        return math.fsum(left for left in self.offcuts if self._worth_keeping(left))

    @property
    def scrap(self) -> float:
        """Offcuts that are not, metres in all."""
        return math.fsum(left for left in self.offcuts if not self._worth_keeping(left))

    def _worth_keeping(self, left: float) -> bool:
        return left >= self.shortest - DEFAULT.merge


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the take-off.

    Attributes
    ----------
    material, name : str
    form : MaterialForm
    used : tuple[Use, ...]
        In the order of planes and edges.
    unit : Unit
    net : float
        What is in place: area of the trimmed pieces laps included, length of strips laps
        included, what is left of trimmed shingles as so many whole ones, nails, volume; the
        sum over ``used``.
    waste : float
        Scrap: what is trimmed off, and offcuts too short to be used.
    left : float
        What is left and can be used: longer offcuts, whole ones in an open pack, liquid in
        the pail. ``ordered`` is ``net + waste + left``.
    covered : float
        Of sheets and shingles the area covered once, m2; 0 for others.
    ordered : float
        In the same unit: ``packs`` times what a pack holds.
    packs : int
    pack : str
        ``roll``, ``bundle``, ``box``, ``pail``, ``length``.
    pack_holds : float
        In the item's unit.
    pack_area, pack_length : float
        What a pack of shingles covers at its exposure, m2; how far one of pieces laid in a
        row reaches, m; 0 where it has no meaning.
    weight : float
        Of what is ordered, kg; 0 where not known.
    cutting : Cutting or None
        Where it is cut from stock.
    rule : str
        How it was counted, in plain words.
    source : str
        Where the sizes that decide come from.
    """

    material: str
    name: str
    form: MaterialForm
    used: tuple[Use, ...]
    unit: Unit
    net: float
    ordered: float
    packs: int
    pack: str
    pack_holds: float
    rule: str
    source: str
    waste: float = 0.0
    left: float = 0.0
    covered: float = 0.0
    pack_area: float = 0.0
    pack_length: float = 0.0
    weight: float = 0.0
    cutting: Cutting | None = None

    @property
    def waste_percent(self) -> float:
        """Scrap as a percentage of what is in place."""
        return 100.0 * self.waste / self.net if self.net else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Takeoff:
    """The whole list, in the order in which things are laid, and what must be told."""

    items: tuple[Item, ...]
    assumptions: tuple[str, ...]
    findings: tuple[Finding, ...]

    def item(self, material: str) -> Item:
        """Return the item of a material; KeyError if there is none."""
        for item in self.items:
            if item.material == material:
                return item
        raise KeyError(material)
