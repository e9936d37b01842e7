"""``roof3d export``: the roof, and its joints in layers, as a mesh file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from roof3d.cli.drawing import mesh_endings, mesh_of
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Model, with_ending
from roof3d.cli.output import require_free, say


def export(
    model: Model,
    *,
    output: Annotated[
        Path,
        typer.Option(
            "--output",
            "-o",
            help="File to write; its ending says the format.",
            metavar="FILE",
            show_default=False,
        ),
    ],
    force: Force = False,
) -> None:
    """Write the mesh file; of the joints those where low meets steep, in layers."""
    with_ending(output, mesh_endings())
    require_free(output, force=force, source=model)
    from roof3d.writers.files import write_file

    project = load_project(model)
    data, left_out = mesh_of(project, output.suffix)
    write_file(output, data, force=force)
    say(f"Wrote {output}")
    for reason in left_out:
        say(f"Without the layers of {reason}")
