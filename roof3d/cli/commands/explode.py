"""``roof3d explode``: a joint of the roof, layer by layer."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from roof3d.cli.drawing import draw_detail_picture
from roof3d.cli.failure import Status
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
    parse_exaggeration,
    parse_lift,
    parse_size,
    parse_style,
    parse_view,
    with_ending,
)
from roof3d.cli.output import complain, progress, require_free, say
from roof3d.cli.paper.vector import ENDINGS, PICTURES, Style, draw_sheet, refuse_idle, sheet_style
from roof3d.errors import Fault, GeometryError, LayoutError, RoofError, SpecError

if TYPE_CHECKING:
    from roof3d.project import Project
    from roof3d.render.detail_view.look import Look

_USUAL_SIZE = "1600x1200"
Every: TypeAlias = Annotated[
    bool,
    typer.Option(
        "--all", help="Draw every joint, one picture each; -o then names the folder for them."
    ),
]


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
    size: Size = _USUAL_SIZE,
    style: Style = "",
    lift: Lift = None,
    exaggerate: Exaggerate = None,
    side: From = None,
    plain: Plain = False,
    dark: Dark = False,
    every: Every = False,
    show_list: Annotated[
        bool, typer.Option("--list", help="Print the joints that can be drawn, and stop.")
    ] = False,
    mistake: Annotated[
        str,
        typer.Option(
            "--mistake",
            help="Draw it built wrong on purpose, with the way the water then takes: back-lap, "
            "short-lap and so on; list prints what this joint can be built with.",
            metavar="NAME",
            show_default=False,
        ),
    ] = "",
    force: Force = False,
) -> None:
    """Draw the joint, or all, into PNGs, beside the caller where no file is named; or to scale."""
    if show_list:
        say(_list_text(load_project(model)))
        return
    if mistake == "list":
        say(_mistakes_text(load_project(model), place or None))
        return
    on_paper = sheet_style(style, output)
    if on_paper is not None and output is not None:
        given = {"--size": size != _USUAL_SIZE, "--lift": lift, "--from": side, "--plain": plain}
        refuse_idle(given | {"--dark": dark, "--all": every, "--mistake": mistake})
        say(draw_sheet(model, place, output, on_paper, exaggerate, force=force))
        return
    pixels = parse_size(size)
    look = _look(style or "exploded", lift, exaggerate, side, plain=plain, dark=dark)
    look = replace(look, mistake=mistake)
    if every:
        _refuse_mistake(mistake)
        _refuse_place(place)
        _draw_every(model, output, pixels, look, force=force)
        return
    _draw_one(model, place, output, pixels, look, force=force)


def _draw_one(
    model: Path,
    place: str,
    output: Path | None,
    pixels: tuple[int, int],
    look: Look,
    *,
    force: bool,
) -> None:
    """Draw one joint into the file that is named, or into one named for it."""
    if output is not None:
        require_free(with_ending(output, (*PICTURES, *ENDINGS)), force=force, source=model)
    from roof3d.render.machine import begin_trial
    from roof3d.scene.detail_scene import find_detail
    from roof3d.writers.files import write_file

    begin_trial()
    project = load_project(model)
    found = find_detail(project, place or None).id
    target = output or _file_of(model, found, look)
    require_free(target, force=force, source=model)
    write_file(target, draw_detail_picture(project, found, pixels, look), force=force)
    say(f"Wrote {target}")


def _file_of(model: Path, place: str, look: Look) -> Path:
    """Name a picture for its model, its place and its style."""
    ending = "" if look.style.value == "exploded" else f"-{look.style.value}"
    ending += f"-{look.mistake}" if look.mistake else ""
    return Path(f"{model.stem}-{place}{ending}.png")


def _refuse_mistake(mistake: str) -> None:
    if mistake:
        fault = Fault(
            where="--mistake",
            message=f"'{mistake}' and --all exclude each other",
            hint="name one joint",
        )
        raise SpecError((fault,), source="command line")


def _mistakes_text(project: Project, place: str | None) -> str:
    """Return the mistakes that a joint can be built with, what each does and how it is seen."""
    from roof3d.cli.tables import Table, set_tables
    from roof3d.scene.detail_scene import detail_mistakes, find_detail

    found = find_detail(project, place)
    rows = tuple(
        (one.mistake.value, one.wrong, one.water, one.see)
        for one in detail_mistakes(project, found.id)
    )
    if not rows:
        return f"No wrong build of {found.id} can be shown."
    columns = ("mistake", "what is built wrong", "what the water does", "how it is seen in time")
    table = Table(title=f"Wrong builds of {found.id}", columns=columns, rows=rows)
    return set_tables((table,), plain=False)


def _refuse_place(place: str) -> None:
    if place:
        fault = Fault(
            where="--all", message=f"and '{place}' exclude each other", hint="leave one of them out"
        )
        raise SpecError((fault,), source="command line")


def _draw_every(
    model: Path, folder: Path | None, pixels: tuple[int, int], look: Look, *, force: bool
) -> None:
    """Draw every joint of a model; one that cannot be drawn is told, and stops no other."""
    from roof3d.render.machine import begin_trial, require_graphics
    from roof3d.scene.detail_scene import detail_places
    from roof3d.writers.files import make_folder, write_file

    begin_trial()
    project = load_project(model)
    home = folder or Path()
    targets = {place.id: home / _file_of(model, place.id, look) for place in detail_places(project)}
    if home.is_dir():
        for target in targets.values():
            require_free(target, force=force, source=model)
    require_graphics()
    make_folder(home)
    failed: list[RoofError] = []
    with progress("Drawing joints") as tell:
        for done, (place, target) in enumerate(targets.items()):
            tell(done, len(targets))
            try:
                data = draw_detail_picture(project, place, pixels, look)
            except (GeometryError, LayoutError) as error:
                failed.append(error)
            else:
                write_file(target, data, force=force)
    for fault in failed:
        complain(f"roof3d: {fault}")
    count = len(targets) - len(failed)
    say(f"Wrote {count} {'picture' if count == 1 else 'pictures'} to {home}")
    if failed:
        raise typer.Exit(Status.WRONG_INPUT)


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
