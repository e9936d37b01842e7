"""Assemblies that are like another: what they take over, change and leave out, and the faults."""

from __future__ import annotations

from dataclasses import replace

import pytest

from roof3d.catalog.laying import Border, Layer, Reach, StripRule
from roof3d.catalog.load import add_catalog, load_catalog, parse_catalog
from roof3d.catalog.model import Assembly
from roof3d.errors import CatalogError
from tests.unit.catalog.test_load import SMALL

OURS = """
[[material]]
id = "wide-shingle"
name = "Wide laminated shingle"
form = "shingle"
purpose = "Sheds water from course to course."
thickness = "0.25 in"
width = "14 in"
length = "40 in"
exposure = "6 in"
pack = "bundle"
pack_count = 20
[material.sources]
thickness = "label"
width = "label"
length = "label"
exposure = "label"
pack_count = "label"
[[assembly]]
id = "wide"
like = "laminated-shingle"
name = "Wide laminated shingles"
swap = { laminated-shingle = "wide-shingle" }
"""


def small(text: str) -> dict[str, Assembly]:
    catalog = parse_catalog({"own": SMALL, "more": text})
    return {one.id: one for one in catalog.assemblies}


def told(text: str) -> list[str]:
    with pytest.raises(CatalogError) as caught:
        parse_catalog({"own": SMALL, "more": text})
    return str(caught.value).split("; ")


def layer_of(assembly: Assembly, role: str) -> Layer:
    (found,) = [one for one in assembly.layers if one.role == role]
    return found


def strip_of(assembly: Assembly, name: str) -> StripRule:
    (found,) = [one for one in assembly.strips if one.id == name]
    return found


def like(lines: str = "", name: str = "mine", model: str = "steep") -> str:
    return f'[[assembly]]\nid = "{name}"\nlike = "{model}"\n{lines}\n'


def test_another_shingle_takes_five_lines() -> None:
    base = load_catalog()
    added = add_catalog(base, OURS, name="ours.toml")
    model, wide = base.assembly("laminated-shingle"), added.assembly("wide")
    assert (wide.id, wide.name) == ("wide", "Wide laminated shingles")
    shingles = layer_of(model, "shingles")
    wanted = tuple(
        replace(layer, material="wide-shingle") if layer is shingles else layer
        for layer in model.layers
    )
    assert wide == replace(model, id=wide.id, name=wide.name, layers=wanted)
    assert added.assemblies[:-1] == base.assemblies


def test_without_a_word_more_it_is_its_model_but_for_the_id() -> None:
    found = small(like())
    assert found["mine"] == replace(found["steep"], id="mine")


def test_a_model_may_stand_after_and_be_like_a_third() -> None:
    found = small(like(name="a", model="b") + like('name = "B"', name="b"))
    assert list(found) == ["steep", "a", "b"]
    assert found["a"] == replace(found["steep"], id="a", name="B")


def test_a_swap_reaches_every_place_and_is_no_chain() -> None:
    more = SMALL[: SMALL.index("[[assembly]]")].replace('id = "', 'id = "my-')
    swap = ", ".join(f'{one} = "my-{one}"' for one in ("felt", "glue", "nail", "metal"))
    found = small(more + like(f"swap = {{ {swap} }}"))["mine"]
    felt, edge = layer_of(found, "underlayment"), strip_of(found, "edge")
    assert felt.nailing is not None
    assert edge.nailing is not None
    assert (felt.material, felt.bed, felt.primer, felt.nailing.fastener) == (
        "my-felt",
        "my-glue",
        "my-glue",
        "my-nail",
    )
    assert (edge.material, edge.bed, edge.primer, edge.nailing.fastener) == (
        "my-metal",
        "my-glue",
        "my-glue",
        "my-nail",
    )
    assert found.double_underlayment == "my-felt"
    turned = small(like('swap = { board = "slate", slate = "board" }'))["mine"]
    assert [one.material for one in turned.layers] == ["slate", "felt", "board"]


def test_layers_and_strips_may_be_left_out() -> None:
    found = small(like('without = ["shingles", "edge"]'))["mine"]
    assert [layer.role for layer in found.layers] == ["deck", "underlayment"]
    assert found.strips == ()


def test_a_layer_changes_what_it_names_in_its_place() -> None:
    found = small(
        like(
            '[[assembly.layer]]\nrole = "underlayment"\nfirst = 1\nwithout = ["bed", "primer"]\n'
            'reach = { eave = "3 in", rake = "1 in" }\nnailing = { lap_spacing = "6 in" }'
        )
    )
    old, new = layer_of(found["steep"], "underlayment"), layer_of(found["mine"], "underlayment")
    assert [one.role for one in found["mine"].layers] == [one.role for one in found["steep"].layers]
    assert old.nailing is not None
    assert new == replace(
        old,
        first=1.0,
        bed="",
        primer="",
        reach=(
            (Border.EAVE, Reach(length=0.0762)),
            (Border.JOINT_UPPER, old.reach[1][1]),
            (Border.RAKE, Reach(length=0.0254)),
        ),
        nailing=replace(old.nailing, lap_spacing=0.1524),
    )


def test_a_strip_changes_what_it_names_and_a_new_one_is_laid_last() -> None:
    found = small(
        like(
            '[[assembly.strip]]\nid = "foot"\nmaterial = "metal"\nat = ["rake"]\nsource = "x"\n'
            '[[assembly.strip]]\nid = "edge"\nat = ["eave"]\nwithout = ["bed", "bed_width"]'
        )
    )
    old = found["steep"].strips[0]
    assert found["mine"].strips == (
        replace(old, at=(Border.EAVE,), bed="", bed_width=0.0),
        StripRule(id="foot", material="metal", at=(Border.RAKE,), source="x"),
    )


def test_own_keys_override_the_limits_with_their_source() -> None:
    found = small(like('least_slope = "3:12"\nslope_source = "label"\nuses_heat = true'))
    assert found["mine"] == replace(
        found["steep"], id="mine", least_slope=0.25, slope_source="label", uses_heat=True
    )


def test_a_file_may_change_a_shipped_assembly_in_its_place() -> None:
    base = load_catalog()
    text = like('without = ["drip-edge"]', "three-tab", "three-tab")
    added = add_catalog(base, text, name="ours.toml")
    assert [one.id for one in added.assemblies] == [one.id for one in base.assemblies]
    old = base.assembly("three-tab")
    strips = tuple(one for one in old.strips if one.id != "drip-edge")
    assert added.assembly("three-tab") == replace(old, strips=strips)
    # what is like it in the same file is like the changed one
    more = add_catalog(base, text + like("", "mine", "three-tab"), name="ours.toml")
    assert more.assembly("mine").strips == strips


@pytest.mark.parametrize(
    ("text", "path", "words"),
    [
        (like(model="flat"), "like", "no assembly 'flat' (known: steep)"),
        (like().replace('"steep"', "3"), "like", "must be text, is 3"),
        (like(model="mine"), "like", "goes in a circle: mine -> mine"),
        (like('swap = { tar = "glue" }'), "swap.tar", "is no material of the model (it has: board"),
        (like('swap = { glue = "tar" }'), "swap.glue", "no material 'tar'"),
        (like('swap = "glue"'), "swap", "must be a table, is 'glue'"),
        (like("swap = { glue = 3 }"), "swap.glue", "must be text, is 3"),
        (
            like('without = ["edge"]\nswap = { metal = "slate" }'),
            "swap.metal",
            "is no material of the model",
        ),
        (like('without = ["cap"]'), "without[0]", "'steep' has no layer and no strip 'cap'"),
        (like('without = "edge"'), "without", "must be a list of names"),
        (like('without = ["underlayment"]'), "layer", "none has the role 'underlayment'"),
        (
            like(
                '[[assembly.layer]]\nrole = "cap"\nmaterial = "felt"\nfastening = "x"\nsource="x"'
            ),
            "layer[0].role",
            "the model has no layer 'cap' whose place it could take (it has: deck, underlayment",
        ),
        (
            like('[[assembly.layer]]\nrole = "shingles"\nwithout = ["bed"]'),
            "layer[0].without[0]",
            "'bed' is nothing that can be left out here (may be: nailing)",
        ),
        (
            like('[[assembly.layer]]\nrole = "shingles"\nwithout = ["material"]'),
            "layer[0].without[0]",
            "'material' is nothing that can be left out here",
        ),
        (
            like('[[assembly.strip]]\nid = "edge"\nwithout = ["bed"]'),
            "strip[0].bed",
            "missing: bed_width is given",
        ),
        (like('least_slope = "3:12"'), "slope_source", "missing or empty"),
        (like('most_slope = "1:12"'), "most_slope", "is below least_slope"),
        (like('special_attachment_source = "x"'), "special_attachment_source", "is the source of"),
        (like("lay = 3"), "lay", "unknown key (allowed: "),
    ],
)
def test_wrong_words_are_told_with_their_path(text: str, path: str, words: str) -> None:
    (fault,) = told(text)
    assert fault.startswith(f"more.assembly[0].{path}: ")
    assert words in fault


def test_a_circle_is_told_once_whatever_hangs_on_it() -> None:
    chain = like(name="x", model="a") + like(name="a", model="b") + like(name="b", model="a")
    (fault,) = told(chain)
    assert fault == (
        "more.assembly[2].like: goes in a circle: a -> b -> a (one of them must be given whole)"
    )


def test_a_long_chain_is_read() -> None:
    count = 3000
    text = "".join(like(name=f"a{n}", model=f"a{n + 1}") for n in range(count))
    found = small(text + like(name=f"a{count}"))
    assert found["a0"] == replace(found["steep"], id="a0")


def test_what_does_not_fit_is_told_among_the_layers_of_model_and_all() -> None:
    faults = told(like('swap = { felt = "glue" }'))
    assert [fault.partition(": ")[0] for fault in faults] == [
        "more.assembly[0] (like 'steep').double_underlayment",
        "more.assembly[0] (like 'steep').layer[1].material",
    ]
    assert "'glue' is a liquid, not a deck" in faults[1]


def test_words_of_likeness_need_a_model() -> None:
    text = SMALL.replace('id = "steep"', 'id = "steep"\nswap = { felt = "board" }')
    with pytest.raises(CatalogError, match=r"own\.assembly\[0\]\.swap: unknown key"):
        parse_catalog({"own": text})
    text = SMALL.replace('id = "edge"', 'id = "edge"\nwithout = ["bed"]')
    with pytest.raises(CatalogError, match=r"own\.assembly\[0\]\.strip\[0\]\.without: unknown key"):
        parse_catalog({"own": text})


def test_a_strip_laid_before_what_is_left_out_comes_before_the_next_layer() -> None:
    model = SMALL.replace('id = "edge"', 'id = "edge"\nbefore = "underlayment"')
    lines = 'double_underlayment_below = "1:12"\nwithout = ["underlayment"]'
    text = model.replace("double_underlayment", "#") + like(lines.partition("\n")[2])
    found = {one.id: one for one in parse_catalog({"own": text}).assemblies}
    assert strip_of(found["steep"], "edge").before == "underlayment"
    assert strip_of(found["mine"], "edge").before == "shingles"
    last = text.replace('without = ["underlayment"]', 'without = ["underlayment", "shingles"]')
    assert strip_of(parse_catalog({"own": last}).assembly("mine"), "edge").before == ""


LONG = """
[[material]]
id = "granule-cap"
like = "granule-cap"
length = "15 m"
"""


def test_a_roll_of_another_length_takes_two_lines() -> None:
    base = load_catalog()
    added = add_catalog(base, LONG, name="ours.toml")
    old, new = base.material("granule-cap"), added.material("granule-cap")
    sources = tuple(
        (key, "from the model's own file" if key == "length" else source)
        for key, source in old.sources
    )
    assert new == replace(old, length=15.0, sources=sources, source=new.source)
    assert new.source.count("from the model's own file") == 1
    assert new.weather == old.weather != ()
    assert [one.id for one in added.materials] == [one.id for one in base.materials]
    assert added.assemblies == base.assemblies


def test_a_changed_value_may_bring_its_source_and_a_new_id_a_new_material() -> None:
    more = 'id = "long"\nname = "Long cap"\nsources = { length = "label" }'
    added = add_catalog(load_catalog(), LONG.replace('id = "granule-cap"', more), name="ours.toml")
    assert added.material("long").source_of("length") == "label"
    assert added.material("long").name == "Long cap"
    assert added.material("granule-cap").length == 10.0


def test_a_material_may_be_like_one_that_follows_it() -> None:
    text = (
        '[[material]]\nid = "a"\nlike = "b"\npack_weight = "50 lb"\n'
        '[[material]]\nid = "b"\nlike = "felt"\nlength = "50 ft"\n'
    )
    found = parse_catalog({"own": SMALL, "more": text})
    felt = found.material("felt")
    assert found.material("a").length == pytest.approx(50 * 0.3048)
    assert found.material("a").pack_weight == pytest.approx(50 * 0.45359237)
    assert found.material("a").source_of("side_lap") == felt.source_of("side_lap") == "x"
    assert (found.material("b").pack_weight, found.material("b").pack) == (
        felt.pack_weight,
        "roll",
    )


@pytest.mark.parametrize(
    ("lines", "path", "words"),
    [
        ('like = "tar"', "like", "no material 'tar' (known: "),
        ('like = "m"', "like", "goes in a circle: m -> m"),
        ('like = "felt"\nform = "metal"', "form", "unknown key"),
        ('like = "felt"\nwidth = "3 in"', "selvage", '3" against a width of "3 in"'),
        ('like = "felt"\nlength = "0 ft"', "length", "must be above zero"),
        ('like = "felt"\nsources = { width = "x" }', "sources.width", "a value that is not given"),
        ('like = "felt"\npack = "box"', "pack_count", "how many in a box"),
    ],
)
def test_what_is_wrong_in_a_material_like_another_is_told(
    lines: str, path: str, words: str
) -> None:
    faults = told(f'[[material]]\nid = "m"\n{lines}\n')
    assert faults[0].startswith(f"more.material[0].{path}: ")
    assert words in faults[0]
