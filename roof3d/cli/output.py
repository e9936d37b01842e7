"""Where text leaves the program."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from roof3d.errors import WriteError
from roof3d.writers.files import check_target, write_file

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PATIENCE: Final = 1.0
"""Seconds before a work is long enough for a bar."""


def say(text: str) -> None:
    """Write text and a line end to standard output; a reader who has left is no error.

    Parameters
    ----------
    text : str
        Without the last line end.

    Raises
    ------
    WriteError
        If standard output refuses it, for instance on a full disk.
    """
    try:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        _silence_standard_output()
    except OSError as error:
        _silence_standard_output()
        raise WriteError(f"cannot be written: {error.strerror}", where="standard output") from error


def complain(text: str) -> None:
    """Write text and a line end to standard error, control characters made visible.

    Parameters
    ----------
    text : str
        May quote a file; what is not printable is shown as an escape.
    """
    lines = (
        "".join(letter if letter.isprintable() else _escaped(letter) for letter in line)
        for line in text.split("\n")
    )
    with suppress(BrokenPipeError):
        sys.stderr.write("\n".join(lines) + "\n")
        sys.stderr.flush()


def json_text(document: dict[str, Any]) -> str:
    """Return a document as JSON text; NaN and infinity have no place in it."""
    import json

    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)


@contextmanager
def progress(what: str) -> Iterator[Callable[[int, int], None]]:
    """Show how far a long work is: a bar on standard error, gone at the end.

    Parameters
    ----------
    what : str
        Stands before the bar.

    Yields
    ------
    callable of (int, int)
        To be told how much is done of how much. Until it is, the bar only moves. Nothing is
        shown of a work that is done at once, and nothing where nobody looks: in a pipe.
    """
    if not sys.stderr.isatty():
        yield lambda _done, _of: None
        return
    from threading import Timer

    known: dict[str, int] = {}
    shown: list[Any] = []

    def show() -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeElapsedColumn

        columns = ("{task.description}", BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        bar = Progress(*columns, console=Console(stderr=True), transient=True)
        bar.add_task(what, total=known.get("total"), completed=known.get("completed", 0))
        bar.start()
        shown.append(bar)

    def tell(done: int, of: int) -> None:
        known.update(completed=done, total=of)
        for bar in shown:
            bar.update(bar.task_ids[0], **known)

    timer = Timer(PATIENCE, show)
    timer.daemon = True
    timer.start()
    try:
        yield tell
    finally:
        timer.cancel()
        timer.join()  # it may be about to show the bar
        for bar in shown:
            bar.stop()


def deliver(text: str, output: Path | None, *, force: bool) -> None:
    """Put text into a file, or say it where no file is named.

    Parameters
    ----------
    text : str
        Without the last line end.
    output : Path or None
    force : bool
        Whether a file that is already there may be replaced.

    Raises
    ------
    WriteError
        As ``roof3d.writers.files.write_file``.
    """
    if output is None:
        say(text)
        return
    write_file(output, (text + "\n").encode(), force=force)
    say(f"Wrote {output}")


def require_free(output: Path | None, *, force: bool, source: Path | None = None) -> None:
    """Raise before work is done for a file that could not be written in the end.

    Raises
    ------
    WriteError
        As ``roof3d.writers.files.check_target``; and if it is the file that is read, which
        not even ``force`` replaces.
    """
    if output is None:
        return
    with suppress(OSError, ValueError):
        if source is not None and output.samefile(source):
            raise WriteError(
                "is the file that is read, and stays as it is",
                where=str(output),
                hint="name another file with -o",
            )
    check_target(output, force=force)


def make_streams_forgiving() -> None:
    """Let a terminal that lacks a letter show a stand-in for it."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _silence_standard_output() -> None:
    """Send what may still come to nowhere, so that closing the stream cannot fail either."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with suppress(OSError, ValueError):
        os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def _escaped(letter: str) -> str:
    return letter.encode("unicode_escape").decode("ascii")
