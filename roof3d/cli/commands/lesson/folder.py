"""The folder of a lesson: looked at before any work, filled at the end."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from roof3d.cli.output import require_free, say
from roof3d.errors import WriteError

_HINT = "name another folder with -o"


@dataclass(slots=True)
class Folder:
    """Where the files of a lesson go, and what each is."""

    path: Path
    force: bool
    files: list[tuple[str, bytes, str]] = field(default_factory=list)

    def add(self, name: str, data: bytes, what: str) -> None:
        """Keep one file until all are there."""
        self.files.append((name, data, what))

    def write(self, source: Path) -> None:
        """Write every file, each whole or not at all, and say so; none over ``source``.

        Raises
        ------
        WriteError
            Where one of them may not be written: then none is.
        """
        from roof3d.writers.files import write_file

        _make(self.path)
        for name, _, _ in self.files:
            require_free(self.path / name, force=self.force, source=source)
        for name, data, _ in self.files:
            write_file(self.path / name, data, force=self.force)
        width = max(len(name) for name, _, _ in self.files)
        say(f"Wrote to {self.path}:")
        for name, _, what in self.files:
            say(f"  {name:<{width}}  {what}")


def require_room(folder: Path, *, force: bool) -> None:
    """Refuse before any work a folder that could not be written into, or holds something.

    Raises
    ------
    WriteError
        If it is a file, lies in one, or holds files and ``force`` is false.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise WriteError("is no folder", where=str(folder), hint=_HINT)
        full = folder.is_dir() and any(folder.iterdir())
        parent = folder.resolve().parent
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise WriteError(
            f"cannot be looked into: {reason}", where=str(folder), hint=_HINT
        ) from error
    if full and not force:
        raise WriteError(
            "holds files already and stays as it is",
            where=str(folder),
            hint="another folder with -o, or --force to replace the files of the lesson",
        )
    if parent.exists() and not parent.is_dir():
        raise WriteError(f"'{parent}' is no folder", where=str(folder), hint=_HINT)


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise WriteError(
            f"cannot be made a folder: {reason}", where=str(folder), hint=_HINT
        ) from error
