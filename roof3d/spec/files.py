"""Read a text file that a model is, or that it brings along: bounded, UTF-8, or one fault."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Final

from roof3d.errors import Fault

LARGEST_FILE: Final = 2_000_000
_LONGEST_LINE: Final = 1_000


class FileFaultError(ValueError):
    """A file or its text cannot be used; ``fault`` says why, with the line where there is one."""

    def __init__(self, message: str, hint: str = "", *, where: str = "file") -> None:
        super().__init__(message)
        self.fault = Fault(where=where, message=message, hint=hint)


def read_text(path: str | os.PathLike[str], what: str, *, regular: bool = False) -> str:
    """Return the text of a file.

    Parameters
    ----------
    path : str or path-like
    what : str
        What it should be, for messages: ``model`` or ``catalog``.
    regular : bool
        Refuse pipes and devices, which may never end.

    Returns
    -------
    str
        Without a byte order mark.

    Raises
    ------
    FileFaultError
        If it is missing, may not be read, is too large or no UTF-8.
    """
    try:
        content = _content(Path(path), what, regular=regular)
    except FileNotFoundError:
        raise FileFaultError("there is no such file") from None
    except IsADirectoryError:
        raise FileFaultError(f"is a directory, not a {what} file") from None
    except PermissionError:
        raise FileFaultError("may not be read", "check its permissions") from None
    except OSError as error:
        raise FileFaultError(f"cannot be read: {error.strerror or error}") from None
    if len(content) > LARGEST_FILE:
        raise FileFaultError(f"is larger than {LARGEST_FILE:,} bytes, too large for a {what}")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileFaultError(
            f"is not UTF-8 text (byte {error.start})", "save it as UTF-8"
        ) from None


def _content(path: Path, what: str, *, regular: bool) -> bytes:
    if regular and stat.S_IFMT(path.stat().st_mode) not in {stat.S_IFREG, stat.S_IFDIR}:
        raise FileFaultError(f"is a pipe or a device, not a {what} file")
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except ValueError as error:  # a NUL in the path
        raise FileFaultError(f"cannot be read: {error}") from None


def check_size(text: str, what: str) -> None:
    """Refuse text that a TOML reader would take too long over.

    Parameters
    ----------
    text : str
    what : str
        As for ``read_text``.

    Raises
    ------
    FileFaultError
        If it or one of its lines is too long.
    """
    if len(text) > LARGEST_FILE:
        raise FileFaultError(f"is longer than {LARGEST_FILE:,} letters, too long for a {what}")
    # Long dotted keys take the TOML reader time that grows with their square.
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > _LONGEST_LINE:
            raise FileFaultError(
                f"is {len(line):,} letters long, too long for a {what}",
                f"at most {_LONGEST_LINE:,}",
                where=f"line {number}",
            )
