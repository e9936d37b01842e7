"""The JSON Schema and the starter: they agree with the reader and with each other."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from roof3d.spec.read import load_spec, parse_spec
from roof3d.spec.schema import model_schema
from roof3d.spec.starter import starter_model

MODELS = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))


def keys(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for name, table in [("", schema), *schema["$defs"].items()]:
        for key, value in table.get("properties", {}).items():
            yield f"{name}.{key}", value


def test_the_schema_is_a_schema_with_words_and_examples_on_every_key() -> None:
    schema = model_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    bare = [key for key, value in keys(schema) if not (value.get("examples"))]
    silent = [key for key, value in keys(schema) if not value.get("description")]
    assert (bare, silent) == ([], [])
    # 10 model, 3 rules, 5 site, 3 layout, 2 overhang, 23 section, 8 edge, 7 opening, 2 plane
    assert len(list(keys(schema))) == 74


def test_every_example_of_a_key_passes_the_schema() -> None:
    schema = model_schema()
    for _, value in keys(schema):
        checker = jsonschema.Draft202012Validator({**value, "$defs": schema["$defs"]})
        for example in value["examples"]:
            if isinstance(example, list) and isinstance(example[0], dict):
                continue  # a table cut short
            checker.validate(example)


def test_the_schema_refuses_what_the_reader_refuses_by_shape() -> None:
    checker = jsonschema.Draft202012Validator(model_schema())
    sound = tomllib.loads(starter_model())
    checker.validate(sound)
    changes: list[dict[str, Any]] = [{"schema": 2}, {"nam": 1}, {"units": "ft"}, {"section": []}]
    for change in changes:
        assert not checker.is_valid({**sound, **change})
    bare = {**sound, "section": [{**sound["section"][0], "length": 42}]}
    assert not checker.is_valid(bare)


def test_the_schema_asks_for_what_the_form_needs() -> None:
    checker = jsonschema.Draft202012Validator(model_schema())
    box = {"id": "s", "form": "hip", "length": "9 m", "width": "6 m", "eave": "3 m"}
    drawn = {
        "id": "s",
        "form": "outline",
        "outline": [["0 m", "0 m"], ["9 m", "0 m"], ["0 m", "9 m"]],
        "eave": "3 m",
        "pitch": "6:12",
    }
    for section, needed in ((box, ("length", "width")), (drawn, ("outline", "eave", "pitch"))):
        checker.validate({"schema": 1, "name": "n", "section": [section]})
        for key in needed:
            less = {name: value for name, value in section.items() if name != key}
            assert not checker.is_valid({"schema": 1, "name": "n", "section": [less]}), key


def test_the_starter_reads_without_fault_and_names_every_key_of_a_section() -> None:
    text = starter_model()
    assert [section.id for section in parse_spec(text).sections] == ["main", "porch"]
    main = text.partition("[[section]]")[2].partition("[[section]]")[0]
    named = set(re.findall(r"^(?:# )?([a-z_]+) = ", main, re.MULTILINE))
    assert named | {"ridge"} == set(model_schema()["$defs"]["SectionTable"]["properties"])


def test_the_starter_names_every_key_of_the_other_tables() -> None:
    named: dict[str, set[str]] = {"": set()}
    table = ""
    for line in starter_model().splitlines():
        if head := re.fullmatch(r"\[(\w+)\]", line):
            table = head[1]
            named[table] = set()
        elif line.startswith("[["):
            break
        elif key := re.match(r"(?:# )?([a-z_]+) = ", line):
            named[table].add(key[1])
    schema = model_schema()
    assert named == {
        "": set(schema["properties"]) - {"rules", "site", "layout", "section", "opening", "plane"},
        **{
            name: set(schema["$defs"][f"{name.title()}Table"]["properties"])
            for name in ("rules", "site", "layout")
        },
    }


@pytest.mark.parametrize("path", MODELS, ids=lambda path: path.stem)
def test_the_demo_models_pass_reader_and_schema(path: Path) -> None:
    assert load_spec(path).sections
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(model_schema()).validate(data)


def test_the_demo_models_are_there() -> None:
    assert {path.stem for path in MODELS} >= {
        "alder-row",
        "ferry-quay",
        "lantern-street",
        "plum-corner",
        "tide-house",
    }
