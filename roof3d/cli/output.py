"""Where text leaves the program."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from roof3d.errors import WriteError
from roof3d.writers.files import check_target, write_file


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
