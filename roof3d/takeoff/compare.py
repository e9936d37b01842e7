"""Two take-offs side by side, with their differences."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from roof3d.takeoff.cost import PricedTakeoff
from roof3d.takeoff.model import Item, Takeoff, Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedItem:
    """One material in two take-offs.

    Attributes
    ----------
    material, name : str
    one, two : Item or None
        None where a take-off has none of it.
    cost_one, cost_two : Decimal or None
        None where there is no price; 0 where there is none of it.
    """

    material: str
    name: str
    one: Item | None
    two: Item | None
    cost_one: Decimal | None = None
    cost_two: Decimal | None = None

    @property
    def unit(self) -> Unit | None:
        """Unit of both; None where they are counted in different ones."""
        units = {item.unit for item in (self.one, self.two) if item is not None}
        return units.pop() if len(units) == 1 else None

    @property
    def more_packs(self) -> int | None:
        """Packs of the second beyond the first; None where their packs are not alike."""
        packs = {(i.pack, i.pack_holds) for i in (self.one, self.two) if i is not None}
        if len(packs) > 1:
            return None
        return (self.two.packs if self.two else 0) - (self.one.packs if self.one else 0)

    @property
    def more_net(self) -> float | None:
        """Net of the second beyond the first; None where their units differ."""
        if self.unit is None:
            return None
        return (self.two.net if self.two else 0.0) - (self.one.net if self.one else 0.0)

    @property
    def more_weight(self) -> float | None:
        """Weight of the second beyond the first, kg; None where one is not known."""
        if not _weighed(self.one) or not _weighed(self.two):
            return None
        return (self.two.weight if self.two else 0.0) - (self.one.weight if self.one else 0.0)

    @property
    def more_cost(self) -> Decimal | None:
        """Cost of the second beyond the first; None where one is not known."""
        if self.cost_one is None or self.cost_two is None:
            return None
        return self.cost_two - self.cost_one


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two take-offs side by side.

    Attributes
    ----------
    rows : tuple[ComparedItem, ...]
        In the order of the first, then what only the second has.
    weight_one, weight_two : float
        Of all that has a weight, kg.
    total_one, total_two : str
        What each costs, with what it lacks; empty without prices.
    more_cost : Decimal or None
        Total of the second beyond the first; None unless both are whole.
    """

    rows: tuple[ComparedItem, ...]
    weight_one: float
    weight_two: float
    total_one: str = ""
    total_two: str = ""
    more_cost: Decimal | None = None

    def row(self, material: str) -> ComparedItem:
        """Return the row of a material; KeyError if there is none."""
        for row in self.rows:
            if row.material == material:
                return row
        raise KeyError(material)


def compare(
    one: Takeoff,
    two: Takeoff,
    *,
    priced_one: PricedTakeoff | None = None,
    priced_two: PricedTakeoff | None = None,
) -> Comparison:
    """Set two take-offs side by side.

    Parameters
    ----------
    one, two : Takeoff
    priced_one, priced_two : PricedTakeoff or None
        The same two with their costs.

    Returns
    -------
    Comparison
        A row for every material of either; differences are the second less the first.
    """
    names = {item.material: item.name for item in (*two.items, *one.items)}
    first, second = ({item.material: item for item in each.items} for each in (one, two))
    rows = tuple(
        ComparedItem(
            material=material,
            name=names[material],
            one=first.get(material),
            two=second.get(material),
            cost_one=_cost(priced_one, first.get(material)),
            cost_two=_cost(priced_two, second.get(material)),
        )
        for material in (*first, *(material for material in second if material not in first))
    )
    whole = priced_one and priced_two and priced_one.complete and priced_two.complete
    return Comparison(
        rows=rows,
        weight_one=sum(item.weight for item in one.items),
        weight_two=sum(item.weight for item in two.items),
        total_one=priced_one.total_text if priced_one else "",
        total_two=priced_two.total_text if priced_two else "",
        more_cost=priced_two.total - priced_one.total
        if whole and priced_one and priced_two
        else None,
    )


def _cost(priced: PricedTakeoff | None, item: Item | None) -> Decimal | None:
    if priced is None:
        return None
    return Decimal("0.00") if item is None else priced.priced(item.material).amount


def _weighed(item: Item | None) -> bool:
    return item is None or item.weight > 0.0
