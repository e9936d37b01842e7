"""Pixels as a PNG file, packed in a hurry."""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

_LEVEL = 1
"""Of compression: a fraction of the time of the usual 6, and hardly larger on these pictures."""
_FROM_ROW_ABOVE = 2
"""How PNG numbers the way in which rows are packed."""


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """Pack pixels as a PNG, each row as its change from the row above.

    Parameters
    ----------
    pixels : (h, w, 3) uint8

    Notes
    -----
    Half the time that Pillow takes, which tries five ways of packing on every row; files are
    a tenth larger.
    """
    height, width = pixels.shape[:2]
    flat = pixels.reshape(height, -1)
    rows = np.empty((height, 3 * width + 1), dtype=np.uint8)
    rows[:, 0] = _FROM_ROW_ABOVE
    rows[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=rows[1:, 1:])
    chunks = (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(rows.tobytes(), _LEVEL)),
        (b"IEND", b""),
    )
    packed = [
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in chunks
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(packed)
