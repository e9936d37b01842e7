"""Read the rows of the lesson's own data: what is taught, the days, the words."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from roof3d.errors import CatalogError

_FOLDER = Path(__file__).parent / "data"


@cache
def read_rows(table: str) -> tuple[Mapping[str, Any], ...]:
    """Return the rows of one table, in the order of its file.

    Parameters
    ----------
    table : str
        Name of the file and, in the singular, of its rows: ``practice.fact``.

    Raises
    ------
    CatalogError
        Where the file is missing or wrong.
    """
    name, row = table.split(".")
    where = f"{name}.toml"
    try:
        with (_FOLDER / where).open("rb") as file:
            found = tomllib.load(file)[row]
    except (OSError, KeyError, tomllib.TOMLDecodeError) as error:
        raise CatalogError(f"cannot be read: {error}", where=where) from error
    return tuple(found)
