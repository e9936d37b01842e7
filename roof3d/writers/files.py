"""One way to put bytes on disk: beside the target first, then renamed over it."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

from roof3d.errors import WriteError


def check_target(path: Path, *, force: bool) -> None:
    """Raise at once if a file could not be written there, before long work is done for it.

    Parameters
    ----------
    path : Path
    force : bool
        Whether a file that is already there may be replaced.

    Raises
    ------
    WriteError
        If the folder is missing, if the path is a folder or a device, or if a file is there
        and ``force`` is false.
    """
    where = str(path)
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        if not path.parent.is_dir():
            raise WriteError(
                f"there is no folder '{path.parent}'", where=where, hint="make the folder first"
            ) from None
        return
    except (OSError, ValueError) as error:
        raise WriteError(f"cannot be written: {_reason(error)}", where=where) from error
    if stat.S_ISDIR(mode):
        raise WriteError("is a folder", where=where, hint="name a file in it")
    if not stat.S_ISREG(mode):
        raise WriteError("is not an ordinary file", where=where, hint="name a new file")
    if not force:
        raise WriteError(
            "is already there and stays as it is",
            where=where,
            hint="another name, or --force to replace it",
        )


def make_folder(path: Path) -> None:
    """Make a folder, and those above it, where it is not there yet.

    Raises
    ------
    WriteError
        If a file is in its place, or if the disk refuses.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise WriteError(
            f"cannot be made a folder: {_reason(error)}",
            where=str(path),
            hint="name another folder with -o",
        ) from error


def write_file(path: Path, data: bytes, *, force: bool = False) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : Path
        The folder must exist. A symbolic link is followed.
    data : bytes
    force : bool
        Whether a file that is already there may be replaced.

    Raises
    ------
    WriteError
        As ``check_target``, and if the disk refuses. What was there before stays whole, and no
        half-written file is left behind.
    """
    check_target(path, force=force)
    import tempfile  # here, because commands that write no file need not load it

    target = Path(os.path.realpath(path))
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:64]}.", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(_mode_of(target))
        Path(temporary).replace(target)
        temporary = None
    except OSError as error:
        raise WriteError(f"cannot be written: {_reason(error)}", where=str(path)) from error
    finally:
        if temporary is not None:
            with suppress(OSError):
                Path(temporary).unlink()


def _mode_of(target: Path) -> int:
    """Permissions of the file that is replaced, else what the user's mask leaves of 666."""
    with suppress(OSError):
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _reason(error: OSError | ValueError) -> str:
    reason = getattr(error, "strerror", None) or str(error)
    return reason[:1].lower() + reason[1:]
