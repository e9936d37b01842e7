"""Which openings dam water: what of the roof lies above them."""

from __future__ import annotations

import pytest

from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text

MAIN = Block(id="main", length=12, width=8, overhang=(0.5, 0.5))
WING = Block(id="wing", length=7, width=4, at=(8, -5), turn=90, overhang=(0.5, 0.5))
SHED = Block(id="main", form="shed", length=12, width=8, pitch=0.25)


def told(
    blocks: tuple[Block, ...], x: float, y: float, *, turn: float = 0.0, side: float = 1.0
) -> bool:
    """Tell whether a square chimney there gets the word on crickets (IRC R903.2.2)."""
    chimney = (
        f'\n[[opening]]\nid = "stack"\nkind = "chimney"\nat = ["{x} m", "{y} m"]\n'
        f'size = ["{side} m", "{side} m"]\nturn = "{turn} deg"\nheight = "1 m"\n'
    )
    project = build(parse_spec(model_text(blocks) + chimney, source="test.toml"))
    return any(finding.code == "R3D-CRICKET" for finding in project.findings)


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        # The wing's ridge, at x = 6, dies into the main slope at y = 2.
        (6, 2.2, True),  # the main slope lies behind all of it
        (6, 1.5, True),  # both valleys run into its uphill corners: 0.5 m above each
        (6, 1.2, True),
        (6, 1.0, False),  # the valleys just touch its corners
        (6, -2, False),  # astride the wing's ridge
        (6, 4, False),  # astride the main ridge
        (6, 3, True),
        (7, 0, True),
    ],
)
def test_chimney_where_a_wing_meets_a_main_roof(x: float, y: float, expected: bool) -> None:  # noqa: FBT001
    assert told((MAIN, WING), x, y) is expected


@pytest.mark.parametrize("turn", [0.0, 5.0, 17.0, 45.0])
def test_turned_chimney_astride_a_ridge_dams_nothing(turn: float) -> None:
    assert not told((MAIN,), 6, 4, turn=turn)


@pytest.mark.parametrize("turn", [0.0, 5.0, 17.0, 45.0])
def test_turned_chimney_below_a_ridge_dams_water(turn: float) -> None:
    assert told((MAIN,), 6, 2, turn=turn)


@pytest.mark.parametrize(("y", "expected"), [(8.0, False), (7.4, True), (4.0, True)])
def test_nothing_lies_above_a_chimney_astride_a_high_edge(y: float, expected: bool) -> None:  # noqa: FBT001
    assert told((SHED,), 6, y) is expected
