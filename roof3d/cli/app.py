"""The Typer app and the way in."""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING, Annotated

import typer

import roof3d
from roof3d.cli.commands.check import check
from roof3d.cli.commands.demo import demo
from roof3d.cli.commands.explode import explode
from roof3d.cli.commands.export import export
from roof3d.cli.commands.lesson.lesson import lesson
from roof3d.cli.commands.measure import measure
from roof3d.cli.commands.model.new import new
from roof3d.cli.commands.model.outline import outline
from roof3d.cli.commands.model.schema import schema
from roof3d.cli.commands.picture import picture
from roof3d.cli.commands.takeoff import takeoff
from roof3d.cli.commands.view import view
from roof3d.cli.failure import run
from roof3d.cli.output import make_streams_forgiving, say

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
)


@app.callback(
    invoke_without_command=True,
    help="Measure a roof that is steep in one part and nearly flat in another, and see how the "
    "two meet.",
    epilog="First steps: 'roof3d demo' writes a tour; 'roof3d new house.toml' starts a model.",
)
def roof3d_program(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)
    ] = False,
) -> None:
    """Answer ``--version``, and show the help where no command is named."""
    if version:
        say(f"roof3d {roof3d.__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        say(context.get_help())
        raise typer.Exit


def _add(command: Callable[..., None], summary: str, example: str, more: str = "") -> None:
    """Give a command its help and its worked example; the list of commands shows the summary."""
    app.command(
        command.__name__,
        help=f"{summary}\n\n{more}" if more else summary,
        short_help=summary,
        epilog=f"Example: {example}",
    )(command)


_add(
    demo,
    "Take the tour: measure and draw the shipped models.",
    "roof3d demo -o tour",
    "Writes the model, its measurements, pictures and a 3D file for each, and says what to "
    "open first.",
)
_add(new, "Write a commented model to start from.", "roof3d new house.toml")
_add(
    check,
    "List what is to be told about a roof.",
    "roof3d check house.toml",
    "Findings come from the published rules, with their source, and from the model itself. The "
    "exit status is 1 where one of them is an error.",
)
_add(
    measure,
    "Measure planes and edges: true areas and lengths.",
    "roof3d measure house.toml --json -o house.json",
)
_add(
    takeoff,
    "Count what to order: every sheet, shingle and nail laid out.",
    "roof3d takeoff house.toml -o house.xlsx",
    "A table, or by the ending of FILE .txt, .json, .csv or .xlsx (a workbook whose allowance and "
    "prices are yours to fill in). Waste is the scrap of the cutting; no factor is added but your "
    "own allowance. Prices and rates come from your files alone: --price-list writes one with "
    "every item by the id that the file knows it by.",
)
_add(
    picture,
    "Draw the roof: planes by kind, edges by role.",
    "roof3d picture house.toml -o house.png",
)
_add(
    explode,
    "Draw a joint of the roof, layer by layer.",
    "roof3d explode house.toml house.transition --style cutaway -o joint.png",
    "Low-to-steep transitions, eaves, rakes, walls, valleys, hips, ridges, laps, corners, pipes "
    "and chimneys, taken out of this very roof at its real pitches.",
)
_add(
    lesson,
    "Teach a joint step by step: pictures, a film, a handout.",
    'roof3d lesson house.toml house.transition --temperature "45 F" -o lesson',
    "A picture for each layer in the order of work, all of them on one sheet, the build as MP4 and "
    "GIF, and a handout to print: what, why, sizes, fastening, tool, gear, mistake and check of "
    "each step, with questions and their answers.",
)
_add(
    export,
    "Write a mesh: .glb, .obj, .stl or .ply.",
    "roof3d export house.toml -o house.glb",
    "Planes, walls and the layers of low-to-steep transitions are named parts of GLB and OBJ "
    "files; STL and PLY hold the closed building alone.",
)
_add(
    outline,
    "Write a model from a building outline (GeoJSON).",
    'roof3d outline site.geojson --number 2 --pitch 5:12 --eave "9 ft" -o house.toml',
    "The file's numbers are taken for metres, or for longitude and latitude where it names no "
    "plane system. A hipped roof of one pitch is a start: the model says how to give an edge a "
    "gable or a pitch of its own.",
)
_add(
    view,
    "Make one page of the roof: turn it, tap it, take it apart, keep it.",
    'roof3d view house.toml --with cutoff=3:12 --with low="single-ply" -o house.html',
    "One HTML file that needs no network. With --live it is served on this machine alone, and "
    "follows the model while you work on it.",
)
_add(schema, "Print the JSON Schema of the model file.", "roof3d schema -o model.schema.json")


def start_lightly() -> None:
    """Spare a process that lives a second what only a long one needs.

    Notes
    -----
    Pydantic would look through every installed distribution for plugins.
    """
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run ``roof3d``.

    Parameters
    ----------
    arguments : sequence of str, optional
        Without the name of the program; those of the process where not given.

    Returns
    -------
    int
        Exit status: 0 done, 1 a rule is broken (``check`` alone), 2 wrong input, 3 our bug.
    """
    make_streams_forgiving()
    start_lightly()
    if arguments is not None:
        return run(app, arguments)
    _keep_only(sys.argv[1:2])
    status = run(app, sys.argv[1:])
    gc.freeze()  # the process ends: spare it a last sweep over everything
    return status


def _keep_only(names: Sequence[str]) -> None:
    """Leave out of this process the commands that it was not asked for: each takes a while."""
    asked = [command for command in app.registered_commands if command.name in names]
    app.registered_commands = asked or app.registered_commands
