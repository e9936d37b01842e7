"""From an error to one clear message and an exit status."""

from __future__ import annotations

import os
import sys
from enum import IntEnum
from typing import TYPE_CHECKING

import typer

import roof3d
from roof3d.cli.output import complain
from roof3d.errors import InvariantError, RoofError

if TYPE_CHECKING:
    from collections.abc import Sequence


class Status(IntEnum):
    """What the program tells the shell when it ends."""

    DONE = 0
    RULE_BROKEN = 1
    WRONG_INPUT = 2
    OUR_BUG = 3
    INTERRUPTED = 130


def run(app: typer.Typer, arguments: Sequence[str]) -> int:
    """Run the program and return its exit status; no exception gets out.

    Parameters
    ----------
    app : typer.Typer
    arguments : sequence of str
        Without the name of the program.

    Returns
    -------
    int
        One of ``Status``.
    """
    command = typer.main.get_command(app)
    try:
        outcome = command.main(list(arguments), prog_name="roof3d", standalone_mode=False)
    except InvariantError as error:
        return _own_bug(error)
    except RoofError as error:
        complain(f"roof3d: {error}")
        return Status.WRONG_INPUT
    except typer.TyperException as error:
        complain(f"{_command_path(error)}: {error.format_message()}")
        return Status.WRONG_INPUT
    except (typer.Abort, KeyboardInterrupt):
        complain("roof3d: stopped")
        return Status.INTERRUPTED
    except Exception as error:  # noqa: BLE001 - the last door: a traceback helps no roofer
        return _own_bug(error)
    return outcome if isinstance(outcome, int) else Status.DONE


def _own_bug(error: Exception) -> int:
    """Own up to a bug in one line; the traceback only where it is asked for."""
    import platform
    import traceback

    if os.environ.get("ROOF3D_TRACEBACK") == "1":
        traceback.print_exception(error, file=sys.stderr)
    what = " ".join(str(error).split())
    complain(
        f"roof3d: this is our bug, not yours: {type(error).__name__}: {what} "
        f"(roof3d {roof3d.__version__}, Python {platform.python_version()}). "
        "Please report this line together with the command and the model file; "
        "ROOF3D_TRACEBACK=1 shows where it happened."
    )
    return Status.OUR_BUG


def _command_path(error: typer.TyperException) -> str:
    context = getattr(error, "ctx", None)
    return "roof3d" if context is None else str(context.command_path)
