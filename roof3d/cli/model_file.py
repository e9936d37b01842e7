"""From the path of a model file to the project; errors name the file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import roof3d
from roof3d.errors import InvariantError, RoofError, SpecError

if TYPE_CHECKING:
    from roof3d.project import Project


def load_project(model: Path) -> Project:
    """Read a model file and build its roof.

    Parameters
    ----------
    model : Path

    Returns
    -------
    Project

    Raises
    ------
    RoofError
        As ``roof3d.load`` and ``roof3d.build``; what the second finds wrong names the file too.
    """
    spec = roof3d.load(model)
    try:
        return roof3d.build(spec)
    except InvariantError:
        raise
    except SpecError as error:
        raise SpecError(error.faults, source=str(model)) from error
    except RoofError as error:
        where = f"{model}: {error.where}" if error.where else str(model)
        raise RoofError(error.message, where=where, hint=error.hint, code=error.code) from error
