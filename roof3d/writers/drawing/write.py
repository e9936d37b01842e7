"""One table from the ending of a drawing's file to its writer; bytes out, nothing on disk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from roof3d.drawing.model import Drawing
from roof3d.errors import WriteError
from roof3d.writers.drawing.dxf import dxf_bytes
from roof3d.writers.drawing.pdf import pdf_bytes
from roof3d.writers.drawing.svg import svg_bytes

#: File ending, with its dot, to the writer of that format.
DRAWING_WRITERS: Mapping[str, Callable[[Drawing], bytes]] = MappingProxyType(
    {".svg": svg_bytes, ".pdf": pdf_bytes, ".dxf": dxf_bytes}
)


def drawing_bytes(ending: str, drawing: Drawing) -> bytes:
    """Write a drawing as the bytes of a vector file.

    Parameters
    ----------
    ending : str
        ``.svg``, ``.pdf`` or ``.dxf``; case does not matter.
    drawing : Drawing

    Returns
    -------
    bytes
        Equal for equal input.

    Raises
    ------
    WriteError
        Where the ending is not one of these.
    """
    writer = DRAWING_WRITERS.get(ending.lower())
    if writer is None:
        raise WriteError(
            f"no drawing has the ending {ending!r}",
            hint="use one of " + ", ".join(DRAWING_WRITERS),
            code="R3D-WRITE-KIND",
        )
    return writer(drawing)
