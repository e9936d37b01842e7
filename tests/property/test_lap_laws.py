"""Laws of the proof of laps, on random piles of roof sections."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume, given, settings

from roof3d.catalog.load import load_catalog
from roof3d.errors import RoofError
from roof3d.laps.layout import check_layout
from roof3d.project import build
from roof3d.roof.build import build_roof
from roof3d.spec.model import PlaneSpec
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text
from tests.property.strategies import EXAMPLES, SETTINGS, piles

CATALOG = load_catalog()
STEEP = (2 / 12, 0.25, 0.5, 0.75, 1.0, 21 / 12)


@given(piles(pitches=STEEP, overhangs=(0.0, 0.3), most=1))
@settings(SETTINGS, max_examples=EXAMPLES or 8)
def test_shingles_on_one_section_raise_nothing(pile: tuple[Block, ...]) -> None:
    """Gables, hips, sheds, gambrels and mansards, from 2:12 to 21:12."""
    spec = parse_spec(model_text(pile), source="pile.toml")
    try:
        roof = build_roof(spec)[0]
        assume(all(plane.slope >= 2 / 12 for plane in roof.planes))
        wishes = tuple(PlaneSpec(id=plane.id, assembly="three-tab") for plane in roof.planes)
        layout = build(replace(spec, planes=wishes)).layout
    except RoofError:
        assume(False)
    assert check_layout(layout, CATALOG) == ()
