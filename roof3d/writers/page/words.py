"""Plain words for a homeowner: what kinds, edges and parts of a roof are."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def plain_words() -> dict[str, Any]:
    """Return ``kinds`` and ``roles`` by id, each with name and meaning, and ``words``, sorted."""
    text = files(__package__).joinpath("data", "words.toml").read_text(encoding="utf-8")
    found = tomllib.loads(text)
    return {
        "kinds": found["kinds"],
        "roles": found["roles"],
        "words": sorted(found["words"], key=lambda entry: str(entry["word"])),
    }
