"""``roof3d view``: the roof as one page to turn, take apart and keep."""

from __future__ import annotations

import asyncio
import errno
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Model, with_ending
from roof3d.cli.output import require_free, say
from roof3d.errors import ReadError, WriteError

if TYPE_CHECKING:
    from roof3d.writers.page.page import PageOptions

_MOST_COLOURS = 200_000


Page: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--output",
        "-o",
        help="Page to write (.html); named for its model where this is left out.",
        metavar="FILE",
        show_default=False,
    ),
]
Wishes: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        help='Another answer to prepare: low="single-ply", steep="three-tab", main.south="ID" or '
        "cutoff=3:12; may be given again.",
        metavar="WISH",
        show_default=False,
    ),
]
Colours: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--colours",
        help="Your own colours (TOML): [[shingle]], [[granule]], [[metal]], [[hip]], each with "
        "id, name, hex.",
        metavar="FILE",
        show_default=False,
    ),
]
LivePage: TypeAlias = Annotated[
    bool,
    typer.Option("--live", help="Serve the page on this machine and make it anew at each change."),
]
Port: TypeAlias = Annotated[
    int, typer.Option("--port", help="Where --live listens; 0 for a free one.", min=0, max=65535)
]


def view(
    model: Model,
    *,
    output: Page = None,
    wishes: Wishes = None,
    colours: Colours = None,
    live: LivePage = False,
    port: Port = 0,
    force: Force = False,
) -> None:
    """Write the page, or serve it while the model is worked on."""
    options = _options(tuple(wishes or ()), colours)
    if live:
        if output is not None:
            raise WriteError(
                "--live serves the page and writes no file",
                where="--output",
                hint="leave out --live to write it",
            )
        _serve(model, options, port)
        return
    if port:
        raise WriteError(
            "is for --live alone", where="--port", hint="add --live, or leave --port out"
        )
    target = with_ending(output or Path(f"{model.stem}.html"), (".html",))
    require_free(target, force=force, source=model)
    from roof3d.writers.files import write_file
    from roof3d.writers.page.page import build_page

    page = build_page(load_project(model), options=options)
    write_file(target, page, force=force)
    say(f"Wrote {target} ({len(page) / 1e6:.2f} MB): open it in a browser; it needs no network")


def _options(wishes: tuple[str, ...], colours: Path | None) -> PageOptions:
    from roof3d.writers.page.page import PageOptions

    if colours is None:
        return PageOptions(wishes=wishes)
    try:
        data = colours.read_bytes()
        text = data[: _MOST_COLOURS + 1].decode("utf-8")
    except OSError as error:
        raise ReadError(
            f"cannot be read: {error.strerror}", where=str(colours), hint="check the path"
        ) from error
    except UnicodeDecodeError as error:
        raise ReadError("is no UTF-8 text", where=str(colours), hint="save it as UTF-8") from error
    if len(data) > _MOST_COLOURS:
        raise ReadError(
            f"is larger than {_MOST_COLOURS:,} bytes", where=str(colours), hint="keep to colours"
        )
    return PageOptions(wishes=wishes, colours=text, colours_name=str(colours))


def _serve(model: Path, options: PageOptions, port: int) -> None:
    from roof3d.live.parts import Shows
    from roof3d.live.server import new_token, serve
    from roof3d.live.watch import Watched, build_house
    from roof3d.writers.page.facts import Live

    watched = Watched(
        model=model,
        read=load_project,
        options=options,
        live=Live(events="events", shows="shows", token=new_token()),
    )
    first = build_house(watched, 1, Shows())
    first.page()  # a copy without the page's scripts says so now, and not to the browser

    def ready(address: str) -> None:
        say(f"Open {address}")
        say("Edit the model and save it: the page follows. Ctrl+C ends.")

    try:
        asyncio.run(serve(watched, first, port=port, ready=ready, told=say))
    except KeyboardInterrupt:
        say("Ended.")
    except OSError as error:
        if error.errno not in {errno.EADDRINUSE, errno.EACCES, errno.EADDRNOTAVAIL}:
            raise
        raise WriteError(
            f"port {port} cannot be had: {error.strerror}",
            where="--port",
            hint="leave it out for a free one",
        ) from error
