"""The take-off as a document for other programs: schema ``roof3d.takeoff/1``."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any

from roof3d.layout.model import LaidLayer, LaidPlane, LaidStrip
from roof3d.takeoff.cost import PricedItem, PricedTakeoff
from roof3d.takeoff.model import Cutting
from roof3d.writers.measure_json import finding_entry, refuse_non_finite
from roof3d.writers.takeoff.job import Job, laid_area

SCHEMA = "roof3d.takeoff/1"


def takeoff_document(job: Job) -> dict[str, Any]:
    """Return everything counted for a roof as plain values, ready for ``json.dumps``.

    Parameters
    ----------
    job : Job

    Returns
    -------
    dict
        Fixed keys and their order; SI numbers in full precision with the unit in the name;
        the amounts of an item in its ``unit``, ``ordered`` being ``net``, ``waste`` and
        ``left`` together. Every number is finite; an offset is None where there is none to
        keep, a cutting where nothing is cut from stock. ``packs`` and all amounts are those
        of the cutting, ``packs_to_order`` those with the allowance. ``prices`` is there where
        the user gave prices or rates; a cost is None where one is missing.

    Raises
    ------
    InvariantError
        Where a number is not finite.
    """
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "model": job.name,
        "units": job.units.value,
        "allowance_percent": float(job.priced.allowance),
        "items": [_item(line) for line in job.priced.items],
        "layers": [_layer(layer, plane) for plane in job.layout.planes for layer in plane.layers],
        "strips": [_strip(strip) for strip in job.layout.strips],
        "assumptions": list(job.assumptions),
        "findings": [finding_entry(finding) for finding in job.findings],
        "caution": list(job.cautions),
    }
    if job.costed:
        document["prices"] = _prices(job.priced)
    refuse_non_finite(document, "")
    return document


def _item(line: PricedItem) -> dict[str, Any]:
    item = line.item
    return {
        "material": item.material,
        "name": item.name,
        "form": item.form.value,
        "unit": item.unit.value,
        "net": item.net,
        "waste": item.waste,
        "left": item.left,
        "covered_m2": item.covered,
        "ordered": item.ordered,
        "packs": item.packs,
        "packs_to_order": line.packs,
        "pack": item.pack,
        "pack_holds": item.pack_holds,
        "pack_area_m2": item.pack_area,
        "pack_length_m": item.pack_length,
        "waste_percent": item.waste_percent,
        "weight_kg": item.weight,
        "rule": item.rule,
        "source": item.source,
        "used": [{"of": use.of, "net": use.net, "pieces": use.pieces} for use in item.used],
        "cutting": None if item.cutting is None else _cutting(item.cutting),
    }


def _cutting(cutting: Cutting) -> dict[str, Any]:
    return {
        "stock_m": cutting.stock,
        "shortest_m": cutting.shortest,
        "cuts_m": [list(pattern) for pattern in cutting.patterns],
        "offcuts_m": list(cutting.offcuts),
        "bound": cutting.bound,
        "proven": cutting.proven,
    }


def _layer(layer: LaidLayer, plane: LaidPlane) -> dict[str, Any]:
    return {
        "id": layer.id,
        "plane": layer.plane,
        "role": layer.role,
        "material": layer.material,
        "number": layer.number,
        "direction": layer.direction.value,
        "plane_area_m2": plane.plane.area,
        "extent_area_m2": float(layer.extent.area),
        "laid_area_m2": laid_area(layer),
        "courses": len(layer.courses),
        "pieces": len(layer.pieces),
        "nails": len(layer.nails),
        "side_lap_m": layer.side_lap,
        "end_lap_m": layer.end_lap,
        "least_side_offset_m": _kept(layer.least_side_offset),
        "least_end_offset_m": _kept(layer.least_end_offset),
        "least_stagger_m": _kept(layer.least_stagger),
    }


def _kept(distance: float) -> float | None:
    """Return a least distance, or None where there is nothing to keep off."""
    return None if distance == math.inf else float(distance)


def _strip(strip: LaidStrip) -> dict[str, Any]:
    return {
        "id": strip.id,
        "edge": strip.edge,
        "rule": strip.rule,
        "material": strip.material,
        "planes": list(strip.planes),
        "length_m": strip.length,
        "width_m": strip.width,
        "lap_m": strip.lap,
        "pieces": len(strip.pieces),
        "nails": len(strip.nails),
    }


def _prices(priced: PricedTakeoff) -> dict[str, Any]:
    return {
        "items": [
            {
                "material": line.item.material,
                "quantity": number(line.quantity),
                "unit": line.unit,
                "price": number(line.price),
                "pack_price": number(line.pack_price),
                "amount": number(line.amount),
            }
            for line in priced.items
        ],
        "labour": [
            {
                "plane": line.plane,
                "quantity": number(line.quantity),
                "unit": line.rate.unit,
                "rate": number(line.rate.rate),
                "amount": number(line.amount),
            }
            for line in priced.labour
        ],
        "unpriced": list(priced.unpriced),
        "unrated": list(priced.unrated),
        "materials_total": number(priced.materials_total),
        "labour_total": number(priced.labour_total),
        "total": number(priced.total),
        "complete": priced.complete,
    }


def number(amount: Decimal | None) -> float | None:
    """Return an amount of money as a number of JSON; None where there is none."""
    return None if amount is None else float(amount)
