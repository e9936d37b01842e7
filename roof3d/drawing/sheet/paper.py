"""Sizes of paper and the scales that the trade draws in."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.units import Units

MARGIN = 10.0
"""From the rim of the paper to the frame, millimetres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A size of paper, landscape, millimetres."""

    name: str
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A scale: how many times larger than drawn, and the words for it."""

    factor: float
    words: str


PAPERS = {
    Units.IMPERIAL: (
        Paper(name="Letter", width=279.4, height=215.9),
        Paper(name="Tabloid", width=431.8, height=279.4),
        Paper(name="17 x 22 in", width=558.8, height=431.8),
    ),
    Units.METRIC: (
        Paper(name="A4", width=297.0, height=210.0),
        Paper(name="A3", width=420.0, height=297.0),
        Paper(name="A2", width=594.0, height=420.0),
    ),
}
_INCHES = {
    "6 in": 2.0,
    "3 in": 4.0,
    "1 1/2 in": 8.0,
    "1 in": 12.0,
    "3/4 in": 16.0,
    "1/2 in": 24.0,
    "3/8 in": 32.0,
    "1/4 in": 48.0,
    "1/8 in": 96.0,
}
SCALES = {
    Units.IMPERIAL: tuple(
        Scale(factor=factor, words=f"{size} = 1 ft (1:{factor:g})")
        for size, factor in _INCHES.items()
    ),
    Units.METRIC: tuple(
        Scale(factor=factor, words=f"1:{factor:g}")
        for factor in (2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
    ),
}
"""Of each system of units, the largest drawing first."""
