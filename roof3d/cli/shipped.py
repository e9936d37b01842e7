"""The models that come with the program."""

from __future__ import annotations

from pathlib import Path

import roof3d
from roof3d.errors import InvariantError


def shipped_models() -> tuple[Path, ...]:
    """Return the paths of the shipped models, by name.

    Returns
    -------
    tuple of Path
        At least one. An installed package holds them itself; a working copy has them beside it.

    Raises
    ------
    InvariantError
        If they are in neither place.
    """
    package = Path(roof3d.__file__).parent
    for folder in (package / "models", package.parent / "models"):
        found = tuple(sorted(folder.glob("*.toml")))
        if found:
            return found
    raise InvariantError("the models that come with the program are missing", where=str(package))
