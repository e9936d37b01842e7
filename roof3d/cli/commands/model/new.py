"""``roof3d new``: a commented model to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from roof3d.cli.options import Force
from roof3d.cli.output import require_free, say
from roof3d.errors import WriteError


def new(
    model: Annotated[
        Path, typer.Argument(help="Model file to write.", metavar="MODEL", show_default=False)
    ],
    *,
    force: Force = False,
) -> None:
    """Write the starter model."""
    if model.suffix != ".toml":
        raise WriteError(
            "a model file ends in .toml",
            where=str(model),
            hint=f"for instance {model.with_suffix('.toml') if model.name else 'house.toml'}",
        )
    require_free(model, force=force)
    from roof3d.spec.starter import starter_model
    from roof3d.writers.files import write_file

    write_file(model, starter_model().encode(), force=force)
    say(f"Wrote {model}\nNext: roof3d measure {model}")
