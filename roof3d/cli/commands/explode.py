"""``roof3d explode``: a joint of the roof, layer by layer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from roof3d.cli.drawing import draw_detail_picture
from roof3d.cli.model_file import load_project
from roof3d.cli.options import (
    Dark,
    Exaggerate,
    Force,
    From,
    Lift,
    Model,
    Output,
    Plain,
    Size,
    Style,
    parse_exaggeration,
    parse_lift,
    parse_size,
    parse_style,
    parse_view,
    with_ending,
)
from roof3d.cli.output import require_free, say
from roof3d.errors import Fault, SpecError

if TYPE_CHECKING:
    from roof3d.project import Project
    from roof3d.render.detail_view.look import Look


def explode(
    model: Model,
    place: Annotated[
        str,
        typer.Argument(
            help="What --list prints: the id of a joint, or a kind such as eave-shingle for the "
            "first of that kind; or the id of a plane. The first joint where not given.",
            metavar="[PLACE]",
            show_default=False,
        ),
    ] = "",
    *,
    output: Output = None,
    size: Size = "1600x1200",
    style: Style = "exploded",
    lift: Lift = None,
    exaggerate: Exaggerate = None,
    side: From = None,
    plain: Plain = False,
    dark: Dark = False,
    show_list: Annotated[
        bool, typer.Option("--list", help="Print the joints that can be drawn, and stop.")
    ] = False,
    force: Force = False,
) -> None:
    """Draw the joint into a PNG, beside the caller where no file is named."""
    if show_list:
        say(_list_text(load_project(model)))
        return
    pixels = parse_size(size)
    look = _look(style, lift, exaggerate, side, plain=plain, dark=dark)
    if output is not None:
        require_free(with_ending(output, (".png",)), force=force, source=model)
    from roof3d.scene.detail_scene import find_detail
    from roof3d.writers.files import write_file

    project = load_project(model)
    found = find_detail(project, place or None).id
    ending = "" if look.style.value == "exploded" else f"-{look.style.value}"
    target = output or Path(f"{model.stem}-{found}{ending}.png")
    require_free(target, force=force, source=model)
    write_file(target, draw_detail_picture(project, found, pixels, look), force=force)
    say(f"Wrote {target}")


def _look(
    style: str,
    lift: str | None,
    exaggerate: str | None,
    side: str | None,
    *,
    plain: bool,
    dark: bool,
) -> Look:
    """Read the options that say how a joint is shown."""
    from roof3d.render.detail_view.look import LIFT, Look
    from roof3d.render.detail_view.look import Style as Styles

    chosen = Styles(parse_style(style))
    _refuse_idle(chosen.value, "--lift", lift, ("exploded",))
    _refuse_idle(chosen.value, "--from", side, ("exploded", "cutaway"))
    return Look(
        style=chosen,
        lift=parse_lift(lift) or LIFT,
        exaggerate=parse_exaggeration(exaggerate),
        azimuth_deg=parse_view(side),
        plain=plain,
        dark=dark,
    )


def _refuse_idle(style: str, option: str, value: str | None, styles: tuple[str, ...]) -> None:
    """Refuse an option that the style would pass over in silence."""
    if value is not None and style not in styles:
        fault = Fault(
            where=option,
            message=f"says nothing to --style {style}",
            hint=f"leave it out, or take --style {' or '.join(styles)}",
        )
        raise SpecError((fault,), source="command line")


def _list_text(project: Project) -> str:
    """Return kind, id and words of every joint that can be drawn, as a table."""
    from roof3d.cli.tables import Table, set_tables
    from roof3d.scene.detail_scene import detail_places

    rows = tuple((place.kind.value, place.id, place.words) for place in detail_places(project))
    if not rows:
        return "No joint of this roof can be drawn layer by layer."
    table = Table(title="Joints", columns=("kind", "id", "what it is"), rows=rows)
    return set_tables((table,), plain=False)
