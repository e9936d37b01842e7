"""``roof3d picture``: the roof in three dimensions."""

from __future__ import annotations

from pathlib import Path

from roof3d.cli.drawing import draw_roof_picture
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, From, Model, Output, Size, parse_size, parse_view, with_ending
from roof3d.cli.output import require_free, say


def picture(
    model: Model,
    *,
    output: Output = None,
    size: Size = "1600x1200",
    side: From = None,
    force: Force = False,
) -> None:
    """Draw the roof into a PNG, beside the caller where no file is named."""
    pixels, azimuth = parse_size(size), parse_view(side)
    target = with_ending(output or Path(f"{model.stem}.png"), (".png",))
    require_free(target, force=force, source=model)
    from roof3d.render.machine import begin_trial
    from roof3d.writers.files import write_file

    begin_trial()
    project = load_project(model)
    write_file(target, draw_roof_picture(project, pixels, azimuth), force=force)
    say(f"Wrote {target}")
