"""Quantities as people write them: square feet, feet, gallons, pounds, or their metric peers."""

from __future__ import annotations

from typing import Final

from roof3d.takeoff.model import Item, Unit
from roof3d.units import FOOT, GALLON, LITRE, POUND, SQUARE_FOOT, Units

_SHOWN_UNIT: Final = {
    Units.IMPERIAL: {
        Unit.AREA: "sq ft",
        Unit.LENGTH: "ft",
        Unit.PIECE: "piece",
        Unit.VOLUME: "gal",
    },
    Units.METRIC: {Unit.AREA: "m2", Unit.LENGTH: "m", Unit.PIECE: "piece", Unit.VOLUME: "l"},
}
_IMPERIAL_SIZE: Final = {
    Unit.AREA: float(SQUARE_FOOT),
    Unit.LENGTH: float(FOOT),
    Unit.PIECE: 1.0,
    Unit.VOLUME: float(GALLON),
}


def unit_of(unit: Unit, units: Units) -> str:
    """Return the name of the unit that an item's amounts are shown in."""
    return _SHOWN_UNIT[units][unit]


def amount_in(amount: float, unit: Unit, units: Units) -> float:
    """Return an amount in the unit that it is shown in.

    Parameters
    ----------
    amount : float
        In SI, as in the take-off.
    unit : Unit
    units : Units

    Examples
    --------
    >>> amount_in(9.290304, Unit.AREA, Units.IMPERIAL), amount_in(0.019, Unit.VOLUME, Units.METRIC)
    (100.0, 19.0)
    """
    if units is Units.IMPERIAL:
        return amount / _IMPERIAL_SIZE[unit]
    return amount / float(LITRE) if unit is Unit.VOLUME else amount


def weight_unit(units: Units) -> str:
    """Return ``lb`` or ``kg``."""
    return "lb" if units is Units.IMPERIAL else "kg"


def weight_in(kilograms: float, units: Units) -> float:
    """Return a weight in pounds or kilograms."""
    return kilograms / float(POUND) if units is Units.IMPERIAL else kilograms


def places_of(unit: Unit, units: Units) -> int:
    """Return to how many decimals an amount is shown: a tenth of a foot, a centimetre."""
    if unit is Unit.PIECE:
        return 0
    return 1 if units is Units.IMPERIAL and unit is not Unit.VOLUME else 2


def packs_text(packs: int, item: Item) -> str:
    """Write a number of packs: ``1 roll``, ``12 boxes``.

    Parameters
    ----------
    packs : int
    item : Item
        Says what it is sold in.
    """
    if not item.packs:
        return "loose"  # the catalog knows no pack
    if packs == 1:
        return f"1 {item.pack}"
    return f"{packs:,} {item.pack}{'es' if item.pack.endswith(('x', 'ch', 's')) else 's'}"
