"""The error tree: what stops work, and findings, which do not."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class RoofError(Exception):
    """Stop with one clear message: what, where, and a way out.

    Parameters
    ----------
    message : str
        What is wrong, with numbers and units.
    where : str
        Path of the value in the file, or the place on the roof; may be empty.
    hint : str
        A way out; may be empty. One of several lines stands under the message.
    code : str
        Stable code, ``R3D-`` and a word; the class has a default.
    """

    code = "R3D-ERROR"

    def __init__(self, message: str, *, where: str = "", hint: str = "", code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.hint = hint
        if code:
            self.code = code

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        if "\n" in self.hint:
            way_out = "\n  " + self.hint.replace("\n", "\n  ")
        else:
            way_out = f" ({self.hint})" if self.hint else ""
        return f"{place}{self.message}{way_out}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One wrong value in a file: its path, what is wrong with it, what is allowed."""

    where: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        way_out = f" ({self.hint})" if self.hint else ""
        return f"{self.where}: {self.message}{way_out}"


class SpecError(RoofError):
    """The model file is wrong; ``faults`` lists every fault found, not the first only."""

    code = "R3D-SPEC"

    def __init__(self, faults: tuple[Fault, ...], *, source: str = "") -> None:
        super().__init__("; ".join(str(fault) for fault in faults), where=source)
        self.faults = faults
        self.source = source

    def __str__(self) -> str:
        count = len(self.faults)
        head = f"{self.source or 'model'}: {count} {'fault' if count == 1 else 'faults'}"
        return "\n".join([head, *(f"  {fault}" for fault in self.faults)])


class CatalogError(RoofError):
    """A catalog entry is wrong or missing."""

    code = "R3D-CATALOG"


class GeometryError(RoofError):
    """A polygon, plane or mesh cannot be used as given."""

    code = "R3D-GEOMETRY"


class LayoutError(RoofError):
    """Pieces cannot be set out as asked."""

    code = "R3D-LAYOUT"


class WriteError(RoofError):
    """An output cannot be written."""

    code = "R3D-WRITE"


class ReadError(RoofError):
    """An input file cannot be read."""

    code = "R3D-READ"


class InvariantError(RoofError):
    """Something that must hold does not: a bug in this program."""

    code = "R3D-BUG"


class Severity(StrEnum):
    """How much a finding weighs."""

    NOTE = "note"
    CAUTION = "caution"
    ERROR = "error"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What need not stop the work but must be told.

    Attributes
    ----------
    code : str
        Stable code, ``R3D-`` and a word.
    severity : Severity
    where : str
        For instance ``planes[porch.south]``.
    message : str
        Plain words with numbers and units.
    source : str
        Standard with edition and clause, or ``common practice, no source``, or empty
        where the finding is about the model alone.
    at : tuple of three float, or None
        Place in the model's space, metres, z up; None where it is about more than one.
    """

    code: str
    severity: Severity
    where: str
    message: str
    source: str = ""
    at: tuple[float, float, float] | None = None
