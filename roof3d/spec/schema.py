"""JSON Schema of the model file, for editors and other programs."""

from __future__ import annotations

from typing import Any

from roof3d.spec.model import Form
from roof3d.spec.tables.model import ModelTable


def model_schema() -> dict[str, Any]:
    """Return the schema of a model file, draft 2020-12, with words and examples on every key.

    Returns
    -------
    dict
        A new one on every call. It holds the file's shape; what one value means beside
        another (eave, ridge and pitch, say) only reading the file can tell.

    References
    ----------
    JSON Schema, draft 2020-12, json-schema.org.
    """
    schema = ModelTable.model_json_schema(by_alias=True)
    _drop_nulls(schema)
    overhang = schema["$defs"]["SectionTable"]["properties"]["overhang"]
    overhang["anyOf"] = [{"type": "string"}, {"$ref": overhang.pop("$ref")}]
    section = schema["$defs"]["SectionTable"]
    section["if"] = {"properties": {"form": {"const": Form.OUTLINE.value}}, "required": ["form"]}
    section["then"] = {"required": ["outline", "eave", "pitch"]}
    section["else"] = {"required": ["length", "width"]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _drop_nulls(node: Any) -> None:
    """Take out ``null`` from every choice and default: TOML has none, a key is left out."""
    if isinstance(node, list):
        for item in node:
            _drop_nulls(item)
    if not isinstance(node, dict):
        return
    if "default" in node and node["default"] is None:
        del node["default"]
    choices = [choice for choice in node.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        del node["anyOf"]
        node.update(choices[0])
    for value in node.values():
        _drop_nulls(value)
