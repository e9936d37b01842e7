"""What practice teaches of a layer is in the words of that layer."""

from __future__ import annotations

import pytest

from roof3d.details.model import DetailKind, DetailLayer
from tests.unit.details.every_kind import detail_of, first_of_each, project_of

# House, kind of joint, part of the layer's name, and the fact in its words. All common practice,
# no source.
TAUGHT = [
    ("low 1", DetailKind.EAVE_MEMBRANE, "base sheet", "movement"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "base sheet", "air pressure"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "base sheet", "renewed without touching the deck"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "ply", "release film"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "ply", "selvage comes off last"),
    ("low 1", DetailKind.CAP_LAP, "next course", "butted"),
    ("low 1", DetailKind.CAP_LAP, "first", "45 degrees"),
    ("low 1", DetailKind.CAP_LAP, "second", "45 degrees"),
    ("low 1", DetailKind.CAP_LAP, "second", "lined out first"),
    ("low 1", DetailKind.CAP_LAP, "cement", "softens"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "edge metal", "solvent"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "edge metal", "pencil line"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "edge metal", "move with heat"),
    ("low 1", DetailKind.CORNER, "edge metal", "small triangle"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "cap sheet", "once it is cold"),
    ("low 1", DetailKind.EAVE_MEMBRANE, "cap sheet", "go with the shingle"),
    ("steep 4", DetailKind.CHIMNEY, "underlayment", "every mark on its laps"),
    ("angled 8", DetailKind.HIP, "hip", "go with the shingle"),
    ("angled 8", DetailKind.RIDGE, "ridge", "go with the shingle"),
]


def said(layer: DetailLayer) -> str:
    words = (layer.why, layer.size, layer.fastening, layer.tool, layer.mistake, layer.check)
    return " ".join(words).lower()


@pytest.mark.parametrize(("house", "kind", "name", "fact"), TAUGHT)
def test_the_layer_teaches_it(house: str, kind: DetailKind, name: str, fact: str) -> None:
    place = first_of_each(project_of(house))[kind]
    layers = [x for x in detail_of(house, place.id).layers if name in x.name.lower()]
    assert layers, [x.name for x in detail_of(house, place.id).layers]
    assert any(fact in said(layer) for layer in layers), [said(layer) for layer in layers]
