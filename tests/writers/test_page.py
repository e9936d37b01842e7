"""The page as a file: its documents, its meshes, its size, its policy."""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
import re
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import roof3d
from roof3d.cli.commands.view import view
from roof3d.errors import ReadError, SpecError, WriteError
from roof3d.live import server
from roof3d.project import Project
from roof3d.scene.detail_scene import detail_places
from roof3d.writers.measure_json import measure_document
from roof3d.writers.page import document
from roof3d.writers.page.alternatives import alternative_entry, build_alternative
from roof3d.writers.page.colours import load_colours, seen_from_afar
from roof3d.writers.page.page import PageOptions, build_page
from roof3d.writers.takeoff.document import takeoff_document
from roof3d.writers.takeoff.job import build_job

MODELS = Path(__file__).parents[2] / "models"
NAMES = tuple(sorted(path.stem for path in MODELS.glob("*.toml")))
each_model = pytest.mark.parametrize("name", NAMES)


@cache
def project(name: str) -> Project:
    return roof3d.build(roof3d.load(MODELS / f"{name}.toml"))


@cache
def page(name: str) -> str:
    return build_page(project(name)).decode("utf-8")


def element(text: str, name: str) -> bytes:
    found = re.search(rf'<script type="text/plain" id="{name}">([^<]*)</script>', text)
    assert found is not None
    return gzip.decompress(base64.b64decode(found[1], validate=True))


def facts(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(element(page(name), "facts"))
    return found


@each_model
def test_numbers_are_the_documents_of_the_other_commands(name: str) -> None:
    first = facts(name)["variants"][0]
    assert first["measure"] == json.loads(json.dumps(measure_document(project(name))))
    counted = json.loads(json.dumps(takeoff_document(build_job(project(name)))))
    for item, told in zip(counted["items"], first["takeoff"]["items"], strict=True):
        assert {key: item[key] for key in told} == told


@each_model
def test_every_joint_that_can_be_drawn_is_there(name: str) -> None:
    there = {spot["id"] for place in facts(name)["places"] for spot in place["at"]}
    assert there == {place.id for place in detail_places(project(name))}


@each_model
def test_the_file_is_small(name: str) -> None:
    assert len(page(name).encode()) <= 1_200_000


def test_the_bytes_are_the_same_again() -> None:
    assert build_page(project("alder-row")).decode() == page("alder-row")


@each_model
def test_joints_built_wrong_carry_their_meshes_and_the_way_of_the_water(name: str) -> None:
    glb = element(page(name), "meshes")
    tree = json.loads(glb[20 : 20 + int.from_bytes(glb[12:16], "little")])
    meshes = {
        (extras["id"].rpartition(".")[0], extras["wrong"], f"{extras['layer']}/{extras['kind']}")
        for extras in (node.get("extras", {}) for node in tree["nodes"])
        if "wrong" in extras
    }
    told = set()
    for place in facts(name)["places"]:
        assert place["wrong"], place["id"]
        for wrong in place["wrong"]:
            assert all(wrong[key] for key in ("title", "wrong", "water", "cost", "see", "replaced"))
            assert wrong["path"][0][2] > wrong["path"][-1][2]
            assert len(wrong["path"]) == len(wrong["lifts"])
            told |= {(place["id"], wrong["name"], part) for part in wrong["replaced"]}
            left_out = {f"{layer}/" for layer in wrong["missing"]}
            assert all(any(p.startswith(o) for p in wrong["replaced"]) for o in left_out)
    assert meshes
    assert meshes <= told


def test_a_wrong_answer_says_in_plain_words_what_must_not_be_built() -> None:
    answers = {variant["id"]: variant for variant in facts("lantern-street")["variants"]}
    (line,) = [w for w in answers["low=laminated-shingle"]["plain"] if "must not be built" in w]
    assert line.endswith("this plane has 1:12.")


@each_model
def test_meshes_pass_the_validator_of_the_format(
    name: str, tmp_path: Path, validator: Path
) -> None:
    path = tmp_path / "house.glb"
    path.write_bytes(element(page(name), "meshes"))
    script = (
        f"const v = require({json.dumps(str(validator))}), fs = require('fs');"
        f"v.validateBytes(new Uint8Array(fs.readFileSync({json.dumps(str(path))})))"
        ".then((r) => console.log(JSON.stringify(r.issues)));"
    )
    done = subprocess.run(
        [shutil.which("node") or "node", "-e", script], capture_output=True, text=True, check=True
    )
    issues = json.loads(done.stdout)
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"][:3]


@pytest.fixture(scope="session")
def validator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Khronos glTF validator, from the npm registry."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm on this machine")
    folder = tmp_path_factory.mktemp("validator")
    command = [
        npm,
        "install",
        "--silent",
        "--no-audit",
        "--no-fund",
        "gltf-validator@2.0.0-dev.3.10",
    ]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip("the npm registry is not reached from here")
    return folder / "node_modules" / "gltf-validator"


def test_the_policy_lets_the_one_script_and_the_one_style_in() -> None:
    text = page("lantern-street")
    policy = html.unescape(re.findall(r'Content-Security-Policy" content="([^"]*)"', text)[0])
    (style,) = re.findall(r"<style>(.*?)</style>", text, flags=re.DOTALL)
    script = text[text.rindex("<script>") + 8 : text.rindex("</script>")]
    for kind, inner in (("script", script), ("style", style)):
        digest = base64.b64encode(hashlib.sha256(inner.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy


def test_a_name_cannot_leave_its_element() -> None:
    spec = roof3d.load(MODELS / "lantern-street.toml")
    from dataclasses import replace

    hostile = "</script><script>alert(1)</script><!-- $style ${facts}"
    text = build_page(roof3d.build(replace(spec, name=hostile))).decode()
    assert hostile not in text
    assert text.count("<script>") == 1
    assert json.loads(element(text, "facts"))["model"] == hostile


def test_without_the_bundle_it_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(document, "_BUNDLE", tmp_path)
    with pytest.raises(WriteError, match="installed without the page's scripts") as caught:
        build_page(project("lantern-street"))
    assert caught.value.code == "R3D-NO-PAGE"


@pytest.mark.parametrize(
    ("wish", "says"),
    [
        ("low", "is no wish"),
        ("low=", "is no wish"),
        ("low=velvet", 'no assembly "velvet"'),
        ("cutoff=steep", "no pitch"),
        ("attic.north=three-tab", 'no plane "attic.north"'),
        ("cutof=4:12", 'no plane "cutof"'),
    ],
)
def test_a_wish_that_names_nothing_is_refused(wish: str, says: str) -> None:
    with pytest.raises(SpecError) as caught:
        build_alternative(project("lantern-street"), wish)
    assert says in str(caught.value)
    assert "--with" in str(caught.value)


def test_shingles_on_a_low_plane_are_told_with_the_way_of_the_water() -> None:
    answers = {variant["id"]: variant for variant in facts("lantern-street")["variants"]}
    wrong = answers["low=laminated-shingle"]
    assert [path["plane"] for path in wrong["water"]] == ["porch.south"]
    assert any("least slope 2:12, this plane has 1:12" in line for line in wrong["plain"])
    first, *_, last = wrong["water"][0]["points"]
    assert first[2] > last[2]


def test_an_answer_holds_the_numbers_of_its_own_roof() -> None:
    other = build_alternative(project("lantern-street"), "cutoff=7:12")
    text = build_page(project("lantern-street"), options=PageOptions(wishes=("cutoff=7:12",)))
    answers = json.loads(element(text.decode(), "facts"))["variants"]
    assert answers[2]["measure"] == json.loads(json.dumps(measure_document(other.project)))
    assert answers[2]["measure"]["totals"]["steep_area_m2"] == 0.0


# Pairs and differences from Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula", 2005,
# table 1: Lab values there. Here the library's formula is checked at three of them.
@pytest.mark.parametrize(
    ("one", "two", "difference"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_perceived_difference_is_the_published_one(
    one: tuple[float, float, float], two: tuple[float, float, float], difference: float
) -> None:
    from coloraide import Color

    found = Color("lab-d65", one).delta_e(Color("lab-d65", two), method="2000")
    assert found == pytest.approx(difference, abs=1e-4)


def test_matches_are_sorted_and_a_colour_matches_itself() -> None:
    found = load_colours('[[granule]]\nid = "same"\nname = "Same"\nhex = "#6a5443"\n')
    granules = [m for m in found["matches"]["oak-bark"] if m["group"] == "granule"]
    assert [m["difference"] for m in granules] == sorted(m["difference"] for m in granules)
    plain = {"hex": "#6a5443", "blend": []}
    assert seen_from_afar(plain) == "#6a5443"
    half = {"hex": "#000000", "blend": [{"hex": "#ffffff", "share": 0.5}]}
    # Half the light, not half the code: IEC 61966-2-1 turns 0.5 into 188.
    assert seen_from_afar(half) == "#bcbcbc"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[roof]]\n", "no group of colours 'roof'"),
        ("[[metal]]\nid = 'a'\n", "name must be"),
        ("[[metal]]\nid = 'a'\nname = 'A'\nhex = 'red'\n", "hex must be six digits, is 'red'"),
        (
            (
                "[[shingle]]\nid = 'a'\nname = 'A'\nhex = '#111111'\n"
                "blend = [{ hex = '#222222', share = 1.5 }]\n"
            ),
            "shares",
        ),
        ("x = ", "not TOML"),
        ("x = " + "[" * 5000, "not TOML"),
        ("[[metal]]\nid = 'a'\nname = 'A\u202e'\nhex = '#111111'\n", "printable"),
        (2 * "[[metal]]\nid = 'a'\nname = 'A'\nhex = '#111111'\n", "there twice"),
    ],
)
def test_colours_that_are_wrong_name_the_entry(text: str, says: str) -> None:
    with pytest.raises(ReadError) as caught:
        load_colours(text, name="mine.toml")
    assert says in str(caught.value)
    assert "mine.toml" in str(caught.value)


@pytest.mark.parametrize("name", ["ferry-quay", "tide-house", "alder-row"])
def test_the_way_of_the_water_stays_on_its_plane_and_runs_down_it(name: str) -> None:
    import shapely

    other = build_alternative(project(name), "low=laminated-shingle")
    low = {plane.id: plane for plane in other.project.roof.planes if plane.kind.value == "low"}
    paths = alternative_entry(project(name), other)["water"]
    assert sorted(path["plane"] for path in paths) == sorted(low)
    for path in paths:
        plane = low[path["plane"]]
        shape = shapely.Polygon([point[:2] for point in plane.outline])
        first, *_, last, under = path["points"]
        assert shape.buffer(1e-6).contains(shapely.LineString([p[:2] for p in path["points"]]))
        assert max(point[2] for point in path["points"]) == first[2]
        assert under[2] < last[2]


def test_part_of_an_assembly_will_do_where_it_fits_one_alone() -> None:
    found = build_alternative(project("lantern-street"), 'low="two-ply"')
    assert found.project.assembly_of("porch.south") == "self-adhered-two-ply"
    text = build_page(
        project("lantern-street"),
        options=PageOptions(wishes=("cutoff=3:12", "cutoff=25 %", "low=laminated")),
    )
    ids = [variant["id"] for variant in json.loads(element(text.decode(), "facts"))["variants"]]
    assert ids == ["as-is", "low=laminated-shingle", "cutoff=3:12"]


def test_it_is_not_served_without_the_bundle(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(document, "_BUNDLE", tmp_path)
    served: list[object] = []
    monkeypatch.setattr(server, "serve", lambda *_, **__: served.append(1))
    with pytest.raises(WriteError, match="installed without the page's scripts"):
        view(MODELS / "lantern-street.toml", live=True)
    assert served == []
