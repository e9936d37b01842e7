"""What is taught at a step besides what its layer says: common practice, read from data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from roof3d.details.model import Detail
from roof3d.lesson.model import Fact
from roof3d.lesson.roles import belongs
from roof3d.lesson.rows import read_rows


def practice_rows(
    detail: Detail, roles: Mapping[int, frozenset[str]]
) -> Mapping[int, tuple[Mapping[str, Any], ...]]:
    """Return the rows of data that are taught at each layer, by its number.

    Parameters
    ----------
    detail : Detail
    roles : Mapping[int, frozenset[str]]
        Of its layers.

    Returns
    -------
    Mapping[int, tuple]
        Each row at one layer alone, the first that it belongs to.
    """
    found: dict[int, list[Mapping[str, Any]]] = {}
    for row in read_rows("practice.fact"):
        if row.get("kinds") and detail.kind.value not in row["kinds"]:
            continue
        for layer in detail.layers:
            says = row.get("says", "")
            if says in f"{layer.name} {layer.size}" and belongs(row, layer, roles[layer.number]):
                found.setdefault(layer.number, []).append(row)
                break
    return {number: tuple(rows) for number, rows in found.items()}


def practice_facts(rows: tuple[Mapping[str, Any], ...]) -> tuple[Fact, ...]:
    """Return rows as facts."""
    return tuple(Fact(text=row["text"], source=row["source"]) for row in rows)
