"""How the sheet of a step is shared out, and the colours that lessons add."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

from roof3d.render.passes import Colour

Area: TypeAlias = tuple[float, float, float, float]
NOW: Final[Colour] = (0.02, 0.36, 0.42)
"""What is being laid: the step's number and its place in the strip."""
DONE: Final[Colour] = (0.62, 0.66, 0.69)
TO_COME: Final[Colour] = (0.90, 0.91, 0.92)
WARN: Final[Colour] = (0.62, 0.16, 0.05)
"""A day on which the step waits."""
_UPRIGHT = 1.12
"""Width over height below which the words stand under the figure."""
_SPLIT, _SPLIT_UPRIGHT = 0.655, 0.50


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPlan:
    """Where things go on the sheet of a step, pixels; font sizes in pixels.

    Attributes
    ----------
    unit : float
        Pixels for one of a sheet of 1600 by 1200.
    title, name, note, small : float
    head, figure, panel, strip, cautions : Area
        (left, top, right, bottom).
    """

    unit: float
    title: float
    name: float
    note: float
    small: float
    head: Area
    figure: Area
    panel: Area
    strip: Area
    cautions: Area


def plan_step(size: tuple[int, int]) -> StepPlan:
    """Return the plan of a sheet of a size, pixels."""
    w, h = size
    upright = w < _UPRIGHT * h
    unit = min(w / 1000.0, h / 1500.0) if upright else min(w / 1600.0, h / 1200.0)
    edge, foot = 36.0 * unit, h - 116.0 * unit
    head = (edge, 28.0 * unit, w - edge, 138.0 * unit)
    if upright:
        middle = head[3] + _SPLIT_UPRIGHT * (foot - head[3])
        figure = (edge, head[3], w - edge, middle)
        panel = (0.0, middle + 8.0 * unit, float(w), foot)
    else:
        left = _SPLIT * w
        figure = (edge, head[3], left - 16.0 * unit, foot - 8.0 * unit)
        panel = (left, head[3], float(w), foot)
    return StepPlan(
        unit=unit,
        title=40.0 * unit,
        name=19.0 * unit,
        note=19.0 * unit,
        small=13.0 * unit,
        head=head,
        figure=figure,
        panel=panel,
        strip=(edge, foot + 10.0 * unit, w - edge, foot + 38.0 * unit),
        cautions=(edge, foot + 50.0 * unit, w - edge, h - 8.0 * unit),
    )
