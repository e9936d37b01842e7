"""``roof3d explode``: a joint of the roof, layer by layer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from roof3d.cli.drawing import draw_detail_picture
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Model, Output, Size, parse_size, with_ending
from roof3d.cli.output import require_free, say


def explode(
    model: Model,
    place: Annotated[
        str,
        typer.Argument(
            help="Id of an edge, opening or plane, as 'roof3d measure' lists them, or a kind of "
            "joint; the first joint where not given.",
            metavar="[PLACE]",
            show_default=False,
        ),
    ] = "",
    *,
    output: Output = None,
    size: Size = "1600x1200",
    force: Force = False,
) -> None:
    """Draw the exploded joint into a PNG, beside the caller where no file is named."""
    pixels = parse_size(size)
    if output is not None:
        require_free(with_ending(output, (".png",)), force=force, source=model)
    from roof3d.scene.detail_scene import find_detail
    from roof3d.writers.files import write_file

    project = load_project(model)
    found = find_detail(project, place or None).id
    target = output or Path(f"{model.stem}-{found}.png")
    require_free(target, force=force, source=model)
    write_file(target, draw_detail_picture(project, found, pixels), force=force)
    say(f"Wrote {target}")
