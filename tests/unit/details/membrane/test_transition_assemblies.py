"""Low-to-steep transitions with every membrane assembly: its own layers, sound solids."""

from __future__ import annotations

import pytest

from roof3d.details.options import TransitionOptions
from roof3d.details.transitions.transition import build_transition
from tests.unit.details.hand_joints import hand_joint, hand_site, pitched
from tests.unit.details.membrane.houses import ASSEMBLIES, INCH, ROLES
from tests.unit.details.solid_checks import open_or_inside_out, shared_area

DRAWN = TransitionOptions(thickness_factor=4.0, least_thickness=0.5 * INCH)


@pytest.mark.parametrize("convex", [False, True])
@pytest.mark.parametrize("assembly", ASSEMBLIES)
def test_transition_is_drawn_with_the_layers_of_the_assembly(
    assembly: str,
    *,
    convex: bool,
) -> None:
    roof, edge = hand_joint(pitched(1), pitched(8), convex=convex)
    chosen = {"low": assembly, "steep": "laminated-shingle"}
    detail = build_transition(hand_site(roof, edge, options=DRAWN, assemblies=chosen))
    drawn = {
        role for role in ("base", "ply", "cap") if any(p.id == f"{role}.1" for p in detail.pieces)
    }
    assert drawn == set(ROLES[assembly])
    assert [layer.number for layer in detail.layers] == list(range(1, len(detail.layers) + 1))
    assert [words for p in detail.pieces if (words := open_or_inside_out(p))] == []
    assert shared_area(detail.frame, detail.pieces, [-0.31, 0.11]) == {}
