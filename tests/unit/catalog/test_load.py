"""Reading a catalog: every wrong value is told with its path, and all of them at once."""

from __future__ import annotations

from importlib.resources import files

import pytest

from roof3d.catalog.laying import Border, Reach
from roof3d.catalog.load import SHIPPED, load_catalog, parse_catalog
from roof3d.errors import CatalogError

INCH = 0.0254
DATA = files("roof3d.catalog") / "data"
TEXTS = {name: (DATA / name).read_text(encoding="utf-8") for name in SHIPPED}

SMALL = """
[[material]]
id = "board"
name = "Board"
form = "deck"
purpose = "Carries."
thickness = "1/2 in"
width = "4 ft"
length = "8 ft"
sources = { thickness = "x", width = "x", length = "x" }

[[material]]
id = "felt"
name = "Felt"
form = "sheet"
purpose = "Sheds."
thickness = "1 mm"
width = "36 in"
length = "40 ft"
side_lap = "2 in"
end_lap = "4 in"
selvage = "3 in"
stagger = "72 in"
shortest = "4 ft"
pack = "roll"
pack_weight = "60 lb"
[material.sources]
thickness = "x"
width = "x"
length = "x"
side_lap = "x"
end_lap = "x"
selvage = "x"
stagger = "x"
shortest = "x"
pack_weight = "x"
[[material.weather]]
most = "40 F"
method = "not_at_all"
caution = "Cold."
source = "x"
[[material.weather]]
least = "40 F"
method = "sun"
caution = "Fine."
source = "x"

[[material]]
id = "slate"
name = "Slate"
form = "shingle"
purpose = "Sheds."
thickness = "1/4 in"
width = "12 in"
length = "8 in"
exposure = "5 in"
pack = "bundle"
pack_count = 40
sources = { thickness = "x", width = "x", length = "x", exposure = "x", pack_count = "x" }

[[material]]
id = "metal"
name = "Metal"
form = "metal"
purpose = "Throws water off."
thickness = "0.5 mm"
width = "4 in"
length = "10 ft"
end_lap = "4 in"
pack = "length"
sources = { thickness = "x", width = "x", length = "x", end_lap = "x" }

[[material]]
id = "glue"
name = "Glue"
form = "liquid"
purpose = "Holds."
rate = "0.75 gal per 100 sq ft"
pack = "pail"
pack_volume = "5 gal"
sources = { rate = "x", pack_volume = "x" }

[[material]]
id = "nail"
name = "Nail"
form = "fastener"
purpose = "Holds."
length = "1 in"
pack = "box"
pack_count = 1000
sources = { length = "x", pack_count = "x" }

[[assembly]]
id = "steep"
name = "Steep"
kind = "shingle"
least_slope = "2:12"
most_slope = "24:12"
slope_source = "x"
double_underlayment_below = "4:12"
double_underlayment = "felt"
double_underlayment_source = "x"

[[assembly.layer]]
material = "board"
role = "deck"
fastening = "Nails."
source = "x"

[[assembly.layer]]
material = "felt"
role = "underlayment"
fastening = "Nails."
source = "x"
first = "2/3"
side_lap = "4 in"
end_lap = "6 in"
clear = "5 in"
along_from = "2:12"
after_ice = "6 in"
bed = "glue"
primer = "glue"
[assembly.layer.reach]
eave = "2 in"
joint_upper = "-rise - 12 in"
[assembly.layer.nailing]
fastener = "nail"
source = "x"
lap_spacing = "9 in"
lap_start = "4 in"
field_spacing = "18 in"
field_rows = 2
perimeter_share = "2/3"
corner_share = 0.5

[[assembly.layer]]
material = "slate"
role = "shingles"
fastening = "Nails."
source = "x"
[assembly.layer.nailing]
fastener = "nail"
source = "x"
per_piece = 4
per_piece_wind = 6
line = "6 in"

[[assembly.strip]]
id = "edge"
material = "metal"
at = ["eave", "rake"]
start = "-1/2 in"
lap = "5 in"
first = "9 ft"
extra = 1
bed = "glue"
bed_width = "4 in"
primer = "glue"
primed_faces = 2
source = "x"
[assembly.strip.nailing]
fastener = "nail"
source = "x"
lap_spacing = "6 in"
strip_rows = 2
strip_first = "1 in"
strip_between = "2 in"
"""


def told(text: str) -> str:
    with pytest.raises(CatalogError) as caught:
        parse_catalog({"own": text})
    return str(caught.value)


def with_change(old: str, new: str) -> str:
    assert old in SMALL
    return SMALL.replace(old, new, 1)


def test_catalog_is_read_once() -> None:
    assert load_catalog() is load_catalog()


def test_what_is_written_is_what_is_read() -> None:
    catalog = parse_catalog({"own": SMALL})
    felt, glue = catalog.material("felt"), catalog.material("glue")
    assert (felt.pack, felt.pack_count) == ("roll", 1.0)
    assert felt.stagger == pytest.approx(72 * INCH, abs=1e-12)
    assert felt.pack_weight == pytest.approx(27.2155422, abs=1e-12)
    assert [band.method for band in felt.weather] == ["not_at_all", "sun"]
    assert glue.pack_volume == pytest.approx(0.01892705892, abs=1e-15)
    assert felt.source_of("pack_weight") == "x"
    (steep,) = catalog.assemblies
    under, shingles = steep.layers[1:]
    assert under.reach == (
        (Border.EAVE, Reach(length=2 * INCH)),
        (Border.JOINT_UPPER, Reach(length=-0.3048, rise=-1)),
    )
    assert under.nailing is not None
    assert shingles.nailing is not None
    assert (under.first, under.nailing.perimeter_share, under.nailing.corner_share) == (
        2 / 3,
        2 / 3,
        0.5,
    )
    assert (under.bed, under.primer, under.after_ice) == ("glue", "glue", 0.1524)
    assert (shingles.nailing.per_piece, shingles.nailing.per_piece_wind) == (4, 6)
    (edge,) = steep.strips
    assert edge.at == (Border.EAVE, Border.RAKE)
    assert (edge.start, edge.extra, edge.primed_faces) == (Reach(length=-INCH / 2), 1, 2)
    assert edge.nailing is not None
    assert (edge.nailing.strip_rows, edge.nailing.strip_between) == (2, 2 * INCH)


def test_nails_in_wind_are_the_usual_ones_where_not_given() -> None:
    catalog = parse_catalog({"own": with_change("per_piece_wind = 6\n", "")})
    nailing = catalog.assembly("steep").layers[2].nailing
    assert nailing is not None
    assert nailing.per_piece_wind == 4


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        ('form = "deck"', 'form = "plank"', "[0].form", "none of the allowed"),
        ('thickness = "1/2 in"', "thickness = 0.5", "[0].thickness", "text with its unit"),
        ('thickness = "1/2 in"', 'thickness = "thin"', "[0].thickness", "not a length"),
        ('thickness = "1/2 in"', 'thickness = "-1 in"', "[0].thickness", "below 0"),
        ('thickness = "1/2 in"', 'thickness = "0 in"', "[0].thickness", "above zero"),
        ('id = "felt"', 'id = "board"', "[1].id", "given twice"),
        ('id = "felt"', 'id = ""', "[1].id", "missing or empty"),
        ('id = "felt"', "id = 3", "[1].id", "must be text"),
        ('id = "felt"', f'id = "{"a" * 61}"', "[1].id", "is no name (at most 60 letters"),
        ('id = "felt"', 'id = "a\\nb"', "[1].id", "is no name"),
        ('purpose = "Carries."', 'colour = "red"\npurpose = "C"', "[0].colour", "unknown key"),
        ('side_lap = "x"\n', "", "[1].sources.side_lap", "missing or empty"),
        ('stagger = "72 in"\n', "", "[1].sources.stagger", "a value that is not given"),
        # a roll of no size
        ('length = "40 ft"', 'length = "0 ft"', "[1].length", "above zero"),
        ('width = "36 in"', 'width = "0 in"', "[1].width", "above zero"),
        ('width = "36 in"\n', "", "[1].width", "a sheet needs it"),
        ('side_lap = "2 in"\n', "", "[1].side_lap", "a sheet needs it"),
        ('exposure = "5 in"\n', "", "[2].exposure", "a shingle needs it"),
        # more than there is
        ('side_lap = "2 in"', 'side_lap = "36 in"', "[1].side_lap", "nothing of the width"),
        ('end_lap = "4 in"', 'end_lap = "40 ft"', "[1].end_lap", "nothing of the length"),
        ('selvage = "3 in"', 'selvage = "37 in"', "[1].selvage", "nothing of the width"),
        ('shortest = "4 ft"', 'shortest = "41 ft"', "[1].shortest", "no piece is that long"),
        ('exposure = "5 in"', 'exposure = "12.5 in"', "[2].exposure", "more shows than there is"),
        # packs
        ('pack = "roll"\n', "", "[1].pack", "missing"),
        ('pack = "roll"', 'pack = "sack"', "[1].pack", "none of the allowed"),
        ("pack_count = 40\n", "", "[2].pack_count", "how many in a bundle"),
        ("pack_count = 40", "pack_count = 0", "[2].pack_count", "not a count"),
        ("pack_count = 40", "pack_count = 2.5", "[2].pack_count", "not a count"),
        ("pack_count = 40", "pack_count = true", "[2].pack_count", "not a count"),
        ("pack_count = 40", "pack_count = 9999999", "[2].pack_count", "not a count"),
        ('pack = "pail"', 'pack = "pail"\npack_count = 3', "[4].pack_count", "not counted"),
        ('pack_volume = "5 gal"\n', "", "[4].pack_volume", "a liquid needs it"),
        ('pack_volume = "5 gal"', 'pack_volume = "5 ft"', "[4].pack_volume", "not a volume"),
        ('pack_weight = "60 lb"', 'pack_weight = "60 ft"', "[1].pack_weight", "not a weight"),
        # rates
        ('rate = "0.75 gal per 100 sq ft"\n', "", "[4].rate", "a liquid needs it"),
        ('"0.75 gal per 100 sq ft"', '"0.75 gal"', "[4].rate", "not a rate"),
        ('"0.75 gal per 100 sq ft"', '"1 gal per 0 sq ft"', "[4].rate", "area must be above"),
        ('"0.75 gal per 100 sq ft"', '"0 gal per 1 sq ft"', "[4].rate", "above zero"),
        # weather
        ('least = "40 F"', 'least = "41 F"', "[1].weather[1].least", "leaves a gap"),
        ('least = "40 F"', 'least = "39 F"', "[1].weather[1].least", "overlaps"),
        ('least = "40 F"\n', "", "[1].weather[1].least", "overlaps"),
        ('most = "40 F"', 'most = "40"', "[1].weather[0].most", "has no unit"),
        ('least = "40 F"', 'least = "40 F"\nmost = "40 F"', "[1].weather[1].most", "above least"),
        ('method = "sun"', 'method = "glue"', "[1].weather[1].method", "none of the allowed"),
        ('caution = "Cold."', 'caution = ""', "[1].weather[0].caution", "missing or empty"),
        ('caution = "Cold."', 'wind = "3"', "[1].weather[0].wind", "unknown key"),
    ],
)
def test_wrong_material_is_told_with_its_path(old: str, new: str, path: str, words: str) -> None:
    message = told(with_change(old, new))
    (fault,) = [one for one in message.split("; ") if one.startswith(f"own.material{path}: ")]
    assert words in fault


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        ('kind = "shingle"', 'kind = "thatch"', "kind", "none of the allowed"),
        ('least_slope = "2:12"\n', "", "least_slope", "missing"),
        ('least_slope = "2:12"', "least_slope = 0.02", "least_slope", "text with its unit"),
        ('most_slope = "24:12"', 'most_slope = "1:12"', "most_slope", "below least_slope"),
        ('slope_source = "x"\n', "", "slope_source", "missing or empty"),
        ('kind = "shingle"', 'kind = "shingle"\nuses_heat = "yes"', "uses_heat", "true or false"),
        ('double_underlayment = "felt"\n', "", "double_underlayment", "missing or empty"),
        ('underlayment = "felt"', 'underlayment = "x"', "double_underlayment", "no material 'x'"),
        ('underlayment = "felt"', 'underlayment = "nail"', "double_underlayment", "is a fastener"),
        ('role = "underlayment"', 'role = "felt"', "layer", "none can be doubled"),
        (
            'double_underlayment_below = "4:12"\n',
            "",
            "double_underlayment_source",
            "which is not given",
        ),
        # layers
        ('material = "felt"', 'material = "x"', "layer[1].material", "known: board, felt, slate"),
        ('material = "felt"', 'material = "glue"', "layer[1].material", "is a liquid"),
        ('role = "shingles"\n', "", "layer[2].role", "missing or empty"),
        ('role = "shingles"', 'role = "deck"', "layer[2].role", "given twice"),
        ('fastening = "Nails."', 'x = "y"\nfastening = "N"', "layer[0].x", "unknown key"),
        ('first = "2/3"', 'first = "0"', "layer[1].first", "not a share"),
        ('first = "2/3"', 'first = "3/2"', "layer[1].first", "not a share"),
        ('first = "2/3"', 'first = "2/0"', "layer[1].first", "not a share"),
        ('first = "2/3"', 'first = "1e999999999"', "layer[1].first", "not a share"),
        ('first = "2/3"', "first = true", "layer[1].first", "not a share"),
        ('first = "2/3"', "first = nan", "layer[1].first", "not a share"),
        ('first = "2/3"', "first = -0.5", "layer[1].first", "not a share"),
        ('first = "2/3"', 'first = "1/9"', "layer[1].first", "not wider than the side lap"),
        ('side_lap = "4 in"', 'side_lap = "1 in"', "layer[1].side_lap", "less than the least"),
        ('side_lap = "4 in"', 'side_lap = "36 in"', "layer[1].side_lap", "leaves nothing"),
        ('end_lap = "6 in"', 'end_lap = "3 in"', "layer[1].end_lap", "less than the least"),
        ('end_lap = "6 in"', 'end_lap = "40 ft"', "layer[1].end_lap", "leaves nothing"),
        ('bed = "glue"\nprimer', 'bed = "tar"\nprimer', "layer[1].bed", "no material 'tar'"),
        ('bed = "glue"\nprimer', 'bed = "nail"\nprimer', "layer[1].bed", "is a fastener"),
        (
            'primer = "glue"\n[assembly.layer',
            'primer = "tar"\n[assembly.layer',
            "layer[1].primer",
            "no material",
        ),
        # reaches
        ('eave = "2 in"', 'gutter = "2 in"', "layer[1].reach.gutter", "unknown key"),
        ('eave = "2 in"', "eave = 2", "layer[1].reach.eave", "must be text"),
        ('eave = "2 in"', 'eave = "2"', "layer[1].reach.eave", "has no unit"),
        ('eave = "2 in"', 'eave = ""', "layer[1].reach.eave", "cannot be read"),
        ('eave = "2 in"', 'eave = "rise + rise"', "layer[1].reach.eave", "gives the rise twice"),
        ('eave = "2 in"', 'eave = "2 in - 1 in"', "layer[1].reach.eave", "gives the length twice"),
        ('eave = "2 in"', 'eave = "rise - -1 in"', "layer[1].reach.eave", "two signs in a row"),
        ('eave = "2 in"', 'eave = "rise + fall"', "layer[1].reach.eave", "is not a length"),
        # nails
        ('lap_spacing = "9 in"\n', "lap = 3\n", "layer[1].nailing.lap", "unknown key"),
        ("field_rows = 2\n", "", "layer[1].nailing.field_rows", "field_spacing is given"),
        ('field_spacing = "18 in"\n', "", "layer[1].nailing.field_spacing", "field_rows is given"),
        ("corner_share = 0.5", "corner_share = 2", "layer[1].nailing.corner_share", "not a share"),
        ('line = "6 in"\n', "", "layer[2].nailing.line", "per_piece is given"),
        ("per_piece = 4\n", "", "layer[2].nailing.per_piece", "per_piece_wind is given"),
        ("per_piece_wind = 6", "per_piece_wind = 3", "layer[2].nailing.per_piece_wind", "fewer"),
        # strips
        (
            'id = "edge"\nmaterial = "metal"',
            'id = "edge"\nmaterial = "x"',
            "strip[0].material",
            "no",
        ),
        (
            'id = "edge"\nmaterial = "metal"',
            'id = "edge"\nmaterial = "glue"',
            "strip[0].material",
            "a",
        ),
        ('id = "edge"\n', "", "strip[0].id", "missing or empty"),
        ('at = ["eave", "rake"]\n', "", "strip[0].at", "list of one or more edges"),
        ('at = ["eave", "rake"]', "at = []", "strip[0].at", "list of one or more edges"),
        ('at = ["eave", "rake"]', 'at = ["gutter"]', "strip[0].at[0]", "none of the edges"),
        ('at = ["eave", "rake"]', "at = [{}]", "strip[0].at[0]", "none of the edges"),
        ('at = ["eave", "rake"]', 'at = ["eave", "eave"]', "strip[0].at[1]", "given twice"),
        ('start = "-1/2 in"', 'start = "down"', "strip[0].start", "not a length"),
        ('lap = "5 in"', 'lap = "10 ft"', "strip[0].lap", "leaves nothing"),
        ('first = "9 ft"', 'first = "11 ft"', "strip[0].first", "is longer than"),
        ("extra = 1", "extra = -1", "strip[0].extra", "not a count"),
        ('bed_width = "4 in"\n', "", "strip[0].bed_width", "bed is given"),
        ("primed_faces = 2", "primed_faces = 3", "strip[0].primed_faces", "two faces"),
        ("primed_faces = 2\n", "", "strip[0].primed_faces", "primer is given"),
        ('primer = "glue"\nprimed', "primed", "strip[0].primer", "primed_faces is given"),
        ("extra = 1", 'valley = "woven"', "strip[0].valley", "none of the allowed"),
        ("extra = 1", "each = true\nper_course = true", "strip[0].each", "beside per_course"),
        ("extra = 1", "vent = 1", "strip[0].vent", "true or false"),
        ("extra = 1", "vent = true\nno_vent = true", "strip[0].no_vent", "beside vent"),
        ("extra = 1", 'past = "2 in"\neach = true', "strip[0].past", "beside each"),
        ("extra = 1", 'past = "2 in"\nper_course = true', "strip[0].past", "beside per_course"),
        ("extra = 1", 'past = "-2 in"', "strip[0].past", "is below 0"),
        ("extra = 1", 'opening = "door"', "strip[0].opening", "none of the allowed"),
        ("extra = 1", 'before = "slates"', "strip[0].before", "no layer has the role 'slates'"),
        (
            'bed = "glue"\nprimer = "glue"\n[assembly.layer.reach]',
            "bed_sides = true\n[assembly.layer.reach]",
            "layer[1].bed",
            "bed_sides is given",
        ),
        ("strip_rows = 2\n", "", "strip[0].nailing.strip_rows", "strip_first is given"),
        ('lap_spacing = "6 in"\n', "", "strip[0].nailing.lap_spacing", "strip_rows is given"),
        (
            'fastener = "nail"\nsource = "x"\nlap_spacing = "6 in"',
            'fastener = "pin"\nsource = "x"\nlap_spacing = "6 in"',
            "strip[0].nailing.fastener",
            "no material 'pin' (known: nail)",
        ),
        (
            'fastener = "nail"\nsource = "x"\nlap_spacing = "6 in"',
            'fastener = "felt"\nsource = "x"\nlap_spacing = "6 in"',
            "strip[0].nailing.fastener",
            "'felt' is a sheet, not a fastener",
        ),
        (
            'primed_faces = 2\nsource = "x"',
            "primed_faces = 2",
            "strip[0].source",
            "missing or empty",
        ),
    ],
)
def test_wrong_assembly_is_told_with_its_path(old: str, new: str, path: str, words: str) -> None:
    message = told(with_change(old, new))
    start = f"own.assembly[0].{path}: "
    faults = [one for one in message.split("; ") if one.startswith(start)]
    assert faults
    assert words in faults[0]


def test_nails_that_say_no_number_are_told() -> None:
    none = with_change('per_piece = 4\nper_piece_wind = 6\nline = "6 in"\n', "")
    assert "own.assembly[0].layer[2].nailing: says nowhere how many" in told(none)


def test_strip_ids_are_unique_in_an_assembly() -> None:
    again = (
        SMALL + '[[assembly.strip]]\nid = "edge"\nmaterial = "metal"\nat = ["hip"]\nsource="x"\n'
    )
    assert "own.assembly[0].strip[1].id: 'edge' is given twice" in told(again)


def test_all_faults_are_told_at_once() -> None:
    text = SMALL
    for old, new in (
        ('form = "deck"', 'form = "plank"'),
        ('length = "40 ft"', 'length = "0 ft"'),
        ('kind = "shingle"', 'kind = "thatch"'),
        ('role = "shingles"', "role = 4"),
        ('at = ["eave", "rake"]', 'at = ["gutter"]'),
        ('fastener = "nail"', 'fastener = "pin"'),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    message = told(text)
    paths = (
        "own.material[0].form: ",
        "own.material[1].length: ",
        "own.assembly[0].kind: ",
        "own.assembly[0].layer[2].role: ",
        "own.assembly[0].strip[0].at[0]: ",
        "own.assembly[0].layer[1].nailing.fastener: ",
    )
    assert [path for path in paths if path not in message] == []
    assert message.count("; own.") == len(paths) - 1


def test_a_fault_in_a_shipped_file_names_the_file() -> None:
    texts = TEXTS | {"metals.toml": TEXTS["metals.toml"].replace('"metal"', '"mettle"', 1)}
    with pytest.raises(CatalogError) as caught:
        parse_catalog(texts)
    assert str(caught.value).startswith("metals.toml.material[0].form: ")


def test_ids_are_unique_over_all_files() -> None:
    with pytest.raises(CatalogError) as caught:
        parse_catalog({"one": SMALL, "two": SMALL})
    assert "two.material[1].id: 'felt' is given twice, first at one.material[1]" in str(
        caught.value
    )
    assert "two.assembly[0].id: 'steep' is given twice" in str(caught.value)


def test_the_small_catalog_and_the_shipped_one_agree_on_ids_of_none() -> None:
    assert len(parse_catalog(TEXTS).materials) == len(load_catalog().materials)
    both = parse_catalog(TEXTS | {"own": SMALL})
    assert both.assemblies[-1].id == "steep"
    assert len(both.materials) == len(load_catalog().materials) + 6


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "holds no material and no assembly"),
        ("# nothing", "holds no material and no assembly"),
        ("material = 3", "own.material: must be one or more tables"),
        ("material = []", "own.material: must be one or more tables"),
        ("material = [3]", "own.material[0]: must be a table"),
        ("[material]", "own.material: must be one or more tables"),
        ("[[assembly]]\nlayer = 4", "own.assembly[0].layer: must be one or more tables"),
        ("[[material]", "own: is not TOML"),
        ("\x00", "own: is not TOML"),
        ("a = " + "9" * 5000, "own: is not TOML"),
        ("a = " + "[" * 100_000, "own: is nested too deep"),
        ("colour = 3", "own.colour: unknown key (allowed: assembly, material)"),
        ('"\\u0007" = 3', "own.'\\x07': unknown key"),
    ],
)
def test_text_that_is_no_catalog_is_refused(text: str, words: str) -> None:
    assert words in told(text)


def test_long_values_are_cut_in_messages() -> None:
    message = told(with_change('id = "felt"', f'id = "{"a" * 5000}"\nform2 = "{"b" * 5000}"'))
    long = told(with_change('material = "felt"', f'material = "{"a" * 5000}"'))
    assert max(len(message), len(long)) < 2500
