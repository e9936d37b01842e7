"""What a take-off costs at the user's prices and rates, exact to the cent.

Nothing is invented: an item without a price and a plane without a rate are listed as such, and
the total says that it is not whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from typing import Final

from roof3d.errors import Finding, RoofError, Severity
from roof3d.roof.model import Plane
from roof3d.takeoff.model import Item, Takeoff, Unit
from roof3d.takeoff.prices import Labour, Price, Prices, Rate, refuse
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import FOOT, GALLON, LITRE, POUND, ROOF_SQUARE, SQUARE_FOOT

_CENT: Final = Decimal("0.01")
_PLACES: Final = 9
"""Decimals to which a size is taken as exact: a roll of 100 sq ft holds one square."""
_DIGITS: Final = 60
"""Enough that no product or sum is ever rounded before the cent."""
_AREAS: Final = {"sq ft": SQUARE_FOOT, "square": ROOF_SQUARE, "m2": Fraction(1)}
_SIZES: Final[dict[Unit, dict[str, Fraction]]] = {
    Unit.AREA: _AREAS,
    Unit.LENGTH: {"ft": FOOT, "m": Fraction(1)},
    Unit.PIECE: {"piece": Fraction(1)},
    Unit.VOLUME: {"gal": GALLON, "l": LITRE},
}
_WEIGHTS: Final = {"lb": POUND, "kg": Fraction(1)}


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedItem:
    """One line of the take-off with its cost.

    Attributes
    ----------
    item : Item
    packs : int
        Ordered, with the allowance.
    quantity : Decimal or None
        Ordered, in the unit of the price; None without a price, as all that follows.
    unit : str
        Of the price; empty without one.
    price, pack_price : Decimal or None
        Of one unit, and of a pack; ``pack_price`` is None also where there is no pack.
    amount : Decimal or None
        To the cent.
    """

    item: Item
    packs: int
    quantity: Decimal | None = None
    unit: str = ""
    price: Decimal | None = None
    pack_price: Decimal | None = None
    amount: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourLine:
    """Laying on one plane.

    Attributes
    ----------
    plane : str
    quantity : Decimal
        Area along the slope, in the unit of the rate.
    rate : Rate
    amount : Decimal
        To the cent.
    """

    plane: str
    quantity: Decimal
    rate: Rate
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedTakeoff:
    """A take-off with what is known of its cost.

    Attributes
    ----------
    takeoff : Takeoff
    allowance : Decimal
        Percentage of what is in place, ordered on top, the user's own.
    items : tuple[PricedItem, ...]
        In the order of the take-off.
    labour : tuple[LabourLine, ...]
        In the order of the planes.
    unpriced, unrated : tuple[str, ...]
        Materials without a price; planes without a rate where rates were given.
    materials_total, labour_total : Decimal
        Of what has a price.
    findings : tuple[Finding, ...]
    """

    takeoff: Takeoff
    allowance: Decimal
    items: tuple[PricedItem, ...]
    labour: tuple[LabourLine, ...]
    unpriced: tuple[str, ...]
    unrated: tuple[str, ...]
    materials_total: Decimal
    labour_total: Decimal
    findings: tuple[Finding, ...]

    @property
    def total(self) -> Decimal:
        """Materials and labour, as far as they have prices."""
        return self.materials_total + self.labour_total

    @property
    def complete(self) -> bool:
        """Whether every item has its price and, with rates given, every plane its rate."""
        return not self.unpriced and not self.unrated

    @property
    def total_text(self) -> str:
        """The total in words that cannot be taken for more than it is."""
        lacks = [
            f"{len(names)} {what if len(names) == 1 else what + 's'} ({', '.join(names)})"
            for names, what in ((self.unpriced, "item"), (self.unrated, "plane"))
            if names
        ]
        return f"{self.total:,} without {' and '.join(lacks)}" if lacks else f"{self.total:,}"

    def priced(self, material: str) -> PricedItem:
        """Return the line of a material; KeyError if there is none."""
        for line in self.items:
            if line.item.material == material:
                return line
        raise KeyError(material)


def price_takeoff(
    takeoff: Takeoff,
    *,
    prices: Prices | None = None,
    labour: Labour | None = None,
    planes: Sequence[Plane] = (),
    allowance: Decimal = Decimal(0),
    tol: Tolerance = DEFAULT,
) -> PricedTakeoff:
    """Price a take-off.

    Parameters
    ----------
    takeoff : Takeoff
    prices : Prices or None
        None leaves every item without a price.
    labour : Labour or None
        None leaves laying out.
    planes : sequence of Plane
        Of the roof, for the labour.
    allowance : Decimal
        Percentage of what is in place, ordered on top, 0 to 100: packs stay whole, and
        what the cutting leaves over counts towards it.
    tol : Tolerance
        Its ``slope`` and ``height`` keep rounding from crossing a limit.

    Returns
    -------
    PricedTakeoff
        Of the rates of a plane's kind that it reaches the one with the greatest pitch
        holds, among those the one with the greatest height.

    Raises
    ------
    ReadError
        Where a price is for a unit that its item cannot be counted in; every one is listed
        with its line.
    RoofError
        Where the allowance is not between 0 and 100.
    """
    if not (allowance.is_finite() and 0 <= allowance <= 100):
        raise RoofError(
            f"an allowance is a percentage from 0 to 100, not {allowance}",
            where="allowance",
            code="R3D-ALLOWANCE",
        )
    with localcontext() as context:
        context.prec = _DIGITS
        items, findings = _price_items(takeoff, prices, allowance)
        lines, unrated = _price_labour(planes, labour, tol) if labour is not None else ((), ())
        return PricedTakeoff(
            takeoff=takeoff,
            allowance=allowance,
            items=items,
            labour=lines,
            unpriced=tuple(line.item.material for line in items if line.amount is None),
            unrated=unrated,
            materials_total=sum((line.amount or Decimal(0) for line in items), Decimal("0.00")),
            labour_total=sum((line.amount for line in lines), Decimal("0.00")),
            findings=findings,
        )


def _price_items(
    takeoff: Takeoff, prices: Prices | None, allowance: Decimal
) -> tuple[tuple[PricedItem, ...], tuple[Finding, ...]]:
    if prices is None:
        bare = tuple(
            PricedItem(item=item, packs=_with_allowance(item, allowance)) for item in takeoff.items
        )
        return bare, ()
    faults: list[str] = []
    lines = []
    for item in takeoff.items:
        price = prices.of(item.material)
        packs = _with_allowance(item, allowance)
        sizes = _sizes_of(item)
        if price is None:
            lines.append(PricedItem(item=item, packs=packs))
        elif price.unit not in sizes:
            faults.append(
                f'line {price.line}: {item.material} cannot be counted by "{price.unit}":'
                f" write {' or '.join(sizes)}"
            )
        else:
            lines.append(_price_item(item, packs, price, sizes[price.unit], allowance))
    if faults:
        refuse(faults, prices.source)
    known = {item.material for item in takeoff.items}
    notes = tuple(
        Finding(
            code="R3D-PRICE-UNUSED",
            severity=Severity.NOTE,
            where=f"{prices.source}, line {row.line}",
            message=f"{row.item} is not in this take-off; its price is not used",
        )
        for row in prices.rows
        if row.item not in known
    )
    return tuple(lines), notes


def _price_item(
    item: Item, packs: int, price: Price, size: Decimal, allowance: Decimal
) -> PricedItem:
    """Price one item; ``size`` is what a pack holds, or all where there is no pack."""
    quantity = size * packs if item.packs else size * (1 + allowance / 100)
    return PricedItem(
        item=item,
        packs=packs,
        quantity=_plain(quantity),
        unit=price.unit,
        price=price.price,
        pack_price=size * price.price if item.packs else None,
        amount=_to_cents(quantity * price.price),
    )


def _sizes_of(item: Item) -> dict[str, Decimal]:
    """Return what a pack holds in each unit that has a meaning for the item; all without packs."""
    held = item.pack_holds if item.packs else item.ordered
    sizes = {item.pack.lower(): Decimal(1)} if item.packs and item.pack else {}
    for unit, size in _SIZES[item.unit].items():
        sizes.setdefault(unit, _exact(Fraction(held) / size))
    for held_too, units in ((item.pack_area, _AREAS), (item.pack_length, _SIZES[Unit.LENGTH])):
        if item.packs and held_too:
            for unit, size in units.items():
                sizes.setdefault(unit, _exact(Fraction(held_too) / size))
    if item.unit is Unit.LENGTH and item.cutting is not None:
        sizes.setdefault("piece", _exact(Fraction(held) / Fraction(item.cutting.stock)))
    if item.weight:
        weight = Fraction(item.weight) / max(1, item.packs)
        sizes |= {unit: _exact(weight / size) for unit, size in _WEIGHTS.items()}
    return sizes


def _price_labour(
    planes: Sequence[Plane], labour: Labour, tol: Tolerance
) -> tuple[tuple[LabourLine, ...], tuple[str, ...]]:
    lines, unrated = [], []
    for plane in planes:
        height = max(0.0, min(z for _, _, z in plane.outline))
        reached = [
            row
            for row in labour.rows
            if row.kind is plane.kind
            and row.from_pitch <= plane.slope + tol.slope
            and row.from_height <= height + tol.height
        ]
        if not reached:
            unrated.append(plane.id)
            continue
        rate = max(reached, key=lambda row: (row.from_pitch, row.from_height))
        quantity = _exact(Fraction(plane.area) / _AREAS[rate.unit])
        amount = _to_cents(quantity * rate.rate)
        lines.append(LabourLine(plane=plane.id, quantity=quantity, rate=rate, amount=amount))
    return tuple(lines), tuple(unrated)


def _with_allowance(item: Item, allowance: Decimal) -> int:
    if not item.packs or not allowance:
        return item.packs
    more = Fraction(item.net) * (1 + Fraction(allowance) / 100) + Fraction(item.waste)
    return max(item.packs, math.ceil(_exact(more / Fraction(item.pack_holds))))


def _exact(number: Fraction) -> Decimal:
    return _plain(Decimal(round(number * 10**_PLACES)).scaleb(-_PLACES))


def _plain(number: Decimal) -> Decimal:
    """Drop zeros at the end, without ever writing 100 as 1E+2."""
    whole = number.to_integral_value()
    return whole if number == whole else number.normalize()


def _to_cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, rounding=ROUND_HALF_UP)
