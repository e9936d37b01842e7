"""Joints built wrong, shown beside the right build: what was done, where the water goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from roof3d.details.mistakes.model import Mistake
from roof3d.details.model import Detail, Piece
from roof3d.details.proof.model import DetailFault
from roof3d.details.proof.prove import choose_shown
from roof3d.details.site import Place
from roof3d.errors import LayoutError
from roof3d.project import Project
from roof3d.scene.detail_scene import build_wrong
from roof3d.scene.lifts import shift

_SHOWN = 1
_AT_TRANSITIONS = 4
"""Wrong builds a joint: each takes as long to draw as the joint itself."""
_TRANSITIONS = frozenset({"low-below-steep", "low-above-steep"})
_ORDER = (
    Mistake.BACK_LAP,
    Mistake.MISSING_LAYER,
    Mistake.LOW_NAIL,
    Mistake.METAL_OVER,
    Mistake.METAL_UNDER,
    Mistake.BARRIER_UNDER,
    Mistake.SHORT_LAP,
    Mistake.STACKED_JOINT,
)
"""The plainest first: what a homeowner sees at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """A joint built wrong.

    Attributes
    ----------
    detail : Detail
        As it is built then; its ``mistake`` says what is wrong.
    fault : DetailFault
        What the proof finds, with the way of the water.
    """

    detail: Detail
    fault: DetailFault


def build_wrongs(project: Project, right: Detail, place: Place) -> Iterator[Wrong]:
    """Build a joint wrong in the ways that are seen best, one after the other.

    Parameters
    ----------
    project : Project
    right : Detail
        The joint as it should be.
    place : Place
        Where it lies.
    """
    most = _AT_TRANSITIONS if right.kind.value in _TRANSITIONS else _SHOWN
    found = 0
    for mistake in _ORDER:
        if found == most:
            return
        try:
            detail, faults = build_wrong(project, place.id, mistake)
        except LayoutError:
            continue
        fault = choose_shown(detail, faults)
        expected = detail.mistake.expected if detail.mistake else None
        if fault is not None and fault.kind is expected and len(fault.path) > 1:
            found += 1
            yield Wrong(detail=detail, fault=fault)


def changed_pieces(right: Detail, wrong: Detail) -> Iterator[tuple[int, str, list[Piece]]]:
    """Yield layer by layer and kind by kind all pieces where one differs from the right build."""
    for layer in right.layers:
        for kind in _kinds(right, layer.number) | _kinds(wrong, layer.number):
            before, after = (
                [p for p in detail.pieces if p.layer == layer.number and p.kind.value == kind]
                for detail in (right, wrong)
            )
            alike = len(before) == len(after) and all(
                np.array_equal(old.vertices, new.vertices)
                for old, new in zip(before, after, strict=True)
            )
            if not alike:
                yield layer.number, kind, after


def wrong_entry(right: Detail, wrong: Wrong) -> dict[str, Any]:
    """Return one wrong build as plain values; points in the model's frame, layers at rest."""
    said = wrong.detail.mistake
    if said is None:
        return {}
    laid = {layer.number for layer in right.layers}
    least = min(laid)
    return {
        "name": said.mistake.value,
        "title": said.title,
        "wrong": said.wrong,
        "water": said.water,
        "cost": said.cost,
        "see": said.see,
        "source": said.source,
        "missing": [layer.number for layer in wrong.detail.missing],
        "replaced": [f"{layer}/{kind}" for layer, kind, _ in changed_pieces(right, wrong.detail)],
        "path": [list(mark.point) for mark in wrong.fault.path],
        "lifts": [
            list(shift(right, mark.layer if mark.layer in laid else least, 1.0))
            for mark in wrong.fault.path
        ],
    }


def _kinds(detail: Detail, layer: int) -> dict[str, None]:
    return dict.fromkeys(p.kind.value for p in detail.pieces if p.layer == layer)
