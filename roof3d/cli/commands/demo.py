"""``roof3d demo``: everything, on the shipped models."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from roof3d.cli.failure import Status
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Size, parse_size
from roof3d.cli.output import complain, json_text, say
from roof3d.cli.shipped import shipped_models
from roof3d.errors import RoofError, WriteError

if TYPE_CHECKING:
    from roof3d.project import Project

NO_GRAPHICS = "R3D-GRAPHICS"
NO_PAGE = "R3D-NO-PAGE"


@dataclass(slots=True)
class _Tour:
    """Where the files go, what was written, and why pictures could not be."""

    folder: Path
    size: tuple[int, int]
    force: bool
    written: list[tuple[str, str]] = field(default_factory=list)
    no_pictures: RoofError | None = None
    no_page: RoofError | None = None
    taught: bool = False

    def show(self, name: str, project: Project) -> None:
        """Make the page of a roof, unless this copy was installed without its scripts."""
        from roof3d.writers.page.page import build_page

        if self.no_page is not None:
            return
        try:
            data = build_page(project)
        except WriteError as error:
            if error.code != NO_PAGE:
                raise
            self.no_page = error
            return
        self.write(name, data, "the roof as a page to turn and tap")

    def write(self, name: str, data: bytes, what: str) -> None:
        """Write one file of the tour."""
        from roof3d.writers.files import write_file

        write_file(self.folder / name, data, force=self.force)
        self.written.append((name, what))

    def draw(self, name: str, picture: Callable[[], bytes], what: str) -> None:
        """Draw one picture, unless this machine was found unable to."""
        if self.no_pictures is not None:
            return
        try:
            data = picture()
        except RoofError as error:
            if error.code != NO_GRAPHICS:
                raise
            self.no_pictures = error
            return
        self.write(name, data, what)


def demo(
    *,
    output: Annotated[
        Path, typer.Option("--output", "-o", help="Folder to write into.", metavar="DIR")
    ] = Path("roof3d-demo"),
    size: Size = "1600x1200",
    force: Force = False,
) -> None:
    """Write the tour, and say what to open first."""
    pixels = parse_size(size)
    _make_folder(output, force=force)
    tour = _Tour(folder=output, size=pixels, force=force)
    for project in _with_progress(tour):
        say(_summary(project))
    _tell_what_was_written(tour)
    if tour.no_page is not None:
        complain(f"roof3d: no pages were made: {tour.no_page}")
    if tour.no_pictures is not None:
        complain(f"roof3d: no pictures were drawn: {tour.no_pictures}")
        raise typer.Exit(Status.WRONG_INPUT)


def _with_progress(tour: _Tour) -> Iterator[Project]:
    """Give the models one by one, each with its files written; a bar on a terminal only."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    models = shipped_models()
    with Progress(console=console, transient=True, disable=not sys.stderr.isatty()) as progress:
        task = progress.add_task("drawing", total=len(models))
        for model in models:
            yield _write_model(tour, model)
            progress.advance(task)


def _write_model(tour: _Tour, model: Path) -> Project:
    """Write everything about one model."""
    from roof3d.cli.commands.lesson.lesson import draw_handout
    from roof3d.cli.drawing import draw_detail_picture, draw_roof_picture, mesh_of, transitions
    from roof3d.cli.report import measure_text
    from roof3d.writers.measure_json import measure_document
    from roof3d.writers.takeoff.job import build_job
    from roof3d.writers.takeoff.workbook import takeoff_xlsx

    name = model.stem
    project = load_project(model)
    tour.write(f"{name}.toml", model.read_bytes(), "the model: change it and measure again")
    table = measure_text(project, plain=True) + "\n"
    tour.write(f"{name}.txt", table.encode(), "planes, edges, findings as a table")
    document = json_text(measure_document(project)) + "\n"
    tour.write(f"{name}.json", document.encode(), "the same for other programs")
    tour.write(
        f"{name}-takeoff.xlsx", takeoff_xlsx(build_job(project)), "what to order, as a workbook"
    )
    mesh, _ = mesh_of(project, ".glb")
    tour.write(f"{name}.glb", mesh, "the roof to turn in a 3D viewer")
    tour.draw(f"{name}.png", lambda: draw_roof_picture(project, tour.size), "the roof")
    tour.show(f"{name}.html", project)
    for edge_id in transitions(project)[:1]:
        tour.draw(
            f"{name}-transition.png",
            lambda place=edge_id: draw_detail_picture(project, place, tour.size),  # type: ignore[misc]
            "where low meets steep, layer by layer",
        )
        if not tour.taught:
            tour.taught = True
            tour.draw(
                f"{name}-lesson.html",
                lambda place=edge_id: draw_handout(project, place, tour.size),  # type: ignore[misc]
                "the same as a lesson to print, with questions",
            )
    return project


def _summary(project: Project) -> str:
    """Return the main numbers of one model as a few lines."""
    from roof3d.cli.report import totals_of
    from roof3d.units import format_area, format_length

    units = project.spec.units
    totals = totals_of(project)
    joints = (("transition", totals.transition), ("valley", totals.valley), ("ridge", totals.ridge))
    lengths = [f"{name} {format_length(length, units)}" for name, length in joints if length > 0]
    count = len(project.findings)
    low, steep = format_area(totals.low_area, units), format_area(totals.steep_area, units)
    area = format_area(totals.area, units)
    lines = (
        project.spec.name,
        f"  {len(project.roof.planes)} planes, true area {area}: low {low}, steep {steep}",
        f"  {', '.join(lengths) or 'no inner edges'}",
        f"  {count or 'no'} {'finding' if count == 1 else 'findings'}",
        "",
    )
    return "\n".join(lines)


def _tell_what_was_written(tour: _Tour) -> None:
    width = max(len(name) for name, _ in tour.written)
    say(f"Wrote to {tour.folder}:")
    for name, what in tour.written:
        say(f"  {name:<{width}}  {what}")
    names = [name for name, _ in tour.written]
    best = (".html", ".txt") if tour.no_page is None else ("-transition.png", ".txt")
    first = next(name for end in best for name in names if name.endswith(end))
    say(f"\nOpen first: {tour.folder / first}")


def _make_folder(folder: Path, *, force: bool) -> None:
    """Make the folder; refuse one that holds something already, unless forced."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        full = any(folder.iterdir())
    except (OSError, ValueError) as error:
        raise WriteError(
            f"cannot be made a folder: {getattr(error, 'strerror', None) or error}",
            where=str(folder),
            hint="name another folder with -o",
        ) from error
    if full and not force:
        raise WriteError(
            "holds files already and stays as it is",
            where=str(folder),
            hint="another folder with -o, or --force to replace the files of the tour",
        )
