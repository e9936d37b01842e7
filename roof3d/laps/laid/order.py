"""When each layer and strip is laid, as numbers: on its plane, and seen from the next one."""

from __future__ import annotations

from typing import Final

from roof3d.catalog.laying import Border as Place
from roof3d.catalog.material import MaterialForm
from roof3d.catalog.model import Assembly, Catalog

SHINGLES: Final = 80.0
_DRY: Final = 60.0
"""What is laid sooner keeps a steep plane dry under its shingles."""
_SHEET: Final = 30.0
_LATE: Final = 81.0
"""Sheets that an assembly names after its shingles."""
_FACES: Final = frozenset({"cap", "shingles"})
_APART: Final = 1000.0
_TOP: Final = 40.0
"""Weather face of a membrane; what lies under it counts down from there."""

#: On shingle planes: linings, then sheets, metal, starters, shingles, what lies over them.
#: Common practice, no source.
_STEEP: Final = {
    "drip-edge": 10.0,
    "joint-ice-barrier": 20.0,
    "break-lining": 24.0,
    "valley-lining": 28.0,
    "cricket-lining": 28.0,
    "valley-metal": 60.0,
    "break-metal": 62.0,
    "starter": 70.0,
    "break-starter": 70.0,
    "joint-starter": 70.0,
    "rake-starter": 70.0,
    "back-pan": 75.0,
    "apron": 90.0,
    "opening-apron": 90.0,
    "pipe-flashing": 90.0,
    "ridge-vent": 92.0,
    "hip-ridge": 94.0,
    "vent-ridge": 94.0,
    "counterflashing": 96.0,
    "side-counterflashing": 96.0,
}
_RAKE_METAL: Final = 55.0
_WITH_TOP: Final = 5.0


def layer_stage(assembly: Assembly, number: int, catalog: Catalog) -> float:
    """Return when a layer of an assembly is laid, by its number from 1."""
    if assembly.kind == "membrane":
        return _TOP - 10.0 * (len(assembly.layers) - number)
    forms = [catalog.material(layer.material).form for layer in assembly.layers]
    if forms[number - 1] is MaterialForm.SHINGLE:
        return SHINGLES
    late = MaterialForm.SHINGLE in forms[: number - 1]
    return (_LATE if late else _SHEET) + 2.0 * number


def weather_roles(assembly: Assembly) -> frozenset[str]:
    """Return the roles whose layers may be seen: cap and shingles, where there are any."""
    roles = [layer.role for layer in assembly.layers]
    return frozenset(_FACES & set(roles) or roles[-1:])


def strip_stage(
    assembly: Assembly, rule: str, material: str, place: Place, catalog: Catalog
) -> float:
    """Return when a strip along an edge is laid.

    A strip that is not known lies as its material says: metal on what keeps the plane dry,
    anything else over the weather face.
    """
    form = catalog.material(material).form
    if assembly.kind == "membrane":
        top = _TOP
        if place is Place.JOINT_LOWER:
            return top - 10.0 * (len(assembly.layers) - 2) + 5.0
        if form is MaterialForm.METAL and place in _FREE:
            return top - 3.0
        return (
            top
            + (_WITH_TOP if form is MaterialForm.SHEET else 2.0 * _WITH_TOP)
            + (0.0 if material != assembly.layers[-1].material else 1.0)
        )
    if form is MaterialForm.METAL and place in {Place.RAKE, Place.HIGH_EDGE}:
        return _RAKE_METAL
    return _STEEP.get(rule, _RAKE_METAL if form is MaterialForm.METAL else 95.0)


_FREE: Final = frozenset({Place.EAVE, Place.RAKE, Place.HIGH_EDGE, Place.JOINT_UPPER})


def seen_across(
    stage: float, place: Place, kind: str, *, first: bool, through: bool | None
) -> float:
    """Return the stage of a piece of the plane beyond a border, among those of this plane.

    Parameters
    ----------
    stage : float
        On its own plane.
    place : Border
        As this plane has the border.
    kind : str
        ``membrane`` or ``shingle``: of this plane.
    first : bool
        Whether the plane beyond is laid before this one where nothing else decides.
    through : bool or None
        Of a closed-cut valley: whether the shingles beyond run through it.
    """
    if place in {Place.JOINT_UPPER, Place.JOINT_LOWER, Place.JOINT_VALLEY}:
        return _at_joint(stage, place, kind)
    if kind == "membrane" and place in {Place.BREAK_LOWER, Place.BREAK_UPPER}:
        return stage + (0.5 if place is Place.BREAK_LOWER else -0.5)
    if place is Place.BREAK_LOWER:
        return _of_upper(stage)
    if place is Place.BREAK_UPPER:
        return _of_lower(stage)
    if through is not None and stage >= SHINGLES and stage < 90.0:
        return stage - 5.0 if through else stage + 8.0
    return stage - 0.5 if first else stage + 0.5


def _at_joint(stage: float, place: Place, kind: str) -> float:
    if kind == "membrane":
        if place is not Place.JOINT_UPPER:
            return stage + _APART
        # Shingles below a membrane: their sheets before it, they themselves under its metal.
        return stage - _APART if stage < _DRY else _TOP - 6.0 + stage / _APART
    if place is not Place.JOINT_LOWER:
        return stage - _APART
    return 65.0 + stage / _APART if stage < _TOP - 4.0 else stage + _APART


def _of_upper(stage: float) -> float:
    """Return the stage of the upper plane at a break, as the lower one has it."""
    if stage < _DRY:
        return 50.0 + stage / 100.0
    return 96.0 + stage / _APART


def _of_lower(stage: float) -> float:
    """Return the stage of the lower plane at a break, as the upper one has it."""
    if stage < _DRY:
        return stage / 100.0
    return 61.0 + stage / _APART
