"""Two take-offs side by side for other programs: schema ``roof3d.takeoff-comparison/1``."""

from __future__ import annotations

from typing import Any

from roof3d.takeoff.compare import ComparedItem, Comparison, compare
from roof3d.takeoff.model import Item
from roof3d.writers.measure_json import refuse_non_finite
from roof3d.writers.takeoff.document import number
from roof3d.writers.takeoff.job import Job

SCHEMA = "roof3d.takeoff-comparison/1"


def compare_jobs(one: Job, two: Job) -> Comparison:
    """Set two jobs side by side; costs only where both have prices."""
    costed = one.costed and two.costed
    return compare(
        one.priced.takeoff,
        two.priced.takeoff,
        priced_one=one.priced if costed else None,
        priced_two=two.priced if costed else None,
    )


def comparison_document(one: Job, two: Job) -> dict[str, Any]:
    """Return two take-offs side by side as plain values, ready for ``json.dumps``.

    Parameters
    ----------
    one, two : Job

    Returns
    -------
    dict
        Fixed keys and their order; SI numbers; ``more_`` is the second less the first, None
        where the two are not alike or one is not known. Packs are those of the cutting,
        costs those with the allowance.

    Raises
    ------
    InvariantError
        Where a number is not finite.
    """
    comparison = compare_jobs(one, two)
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "models": [one.name, two.name],
        "allowance_percent": float(one.priced.allowance),
        "items": [_row(row) for row in comparison.rows],
        "weight_kg": [comparison.weight_one, comparison.weight_two],
    }
    if one.costed and two.costed:
        totals = [number(job.priced.total) for job in (one, two)]
        document["prices"] = {
            "total": totals,
            "complete": [job.priced.complete for job in (one, two)],
            "more_total": number(comparison.more_cost),
        }
    refuse_non_finite(document, "")
    return document


def _row(row: ComparedItem) -> dict[str, Any]:
    return {
        "material": row.material,
        "name": row.name,
        "unit": None if row.unit is None else row.unit.value,
        "one": _side(row.one),
        "two": _side(row.two),
        "more_net": row.more_net,
        "more_packs": row.more_packs,
        "more_weight_kg": row.more_weight,
        "cost_one": number(row.cost_one),
        "cost_two": number(row.cost_two),
        "more_cost": number(row.more_cost),
    }


def _side(item: Item | None) -> dict[str, Any] | None:
    if item is None:
        return None
    return {
        "net": item.net,
        "ordered": item.ordered,
        "packs": item.packs,
        "pack": item.pack,
        "weight_kg": item.weight,
    }
