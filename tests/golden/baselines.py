"""Compare a picture with its baseline: numbers exactly, colours within a small tolerance.

A missing baseline fails. ``ROOF3D_GOLDEN=write`` writes the baselines anew, and fails all the
same, so that nobody takes a run that wrote them for a check.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

HERE = Path(__file__).parent
FAILED = HERE / "failed"
MOST, MEAN = 16, 0.6
"""Of 255: colours differ by up to 10 (mean 0.3) between two releases of Mesa."""


def difference(
    path: Path, found: NDArray[np.uint8] | NDArray[np.uint16]
) -> tuple[int, float] | str:
    """Largest and mean difference from a baseline, or words where there is none to compare.

    What differs at all is kept in ``failed/`` beside its baseline, for the eye.
    """
    if os.environ.get("ROOF3D_GOLDEN") == "write":
        path.parent.mkdir(exist_ok=True)
        Image.fromarray(found).save(path, optimize=True)
        return f"{path.name} was written: look at it, then run again without ROOF3D_GOLDEN"
    if not path.is_file():
        return f"{path.name} is missing: ROOF3D_GOLDEN=write makes it"
    with Image.open(path) as image:
        wanted = np.asarray(image)
    if wanted.shape != found.shape:
        return f"{path.name} is {wanted.shape}, found {found.shape}"
    gap = np.abs(wanted.astype(np.int16) - found.astype(np.int16))
    if gap.any():
        FAILED.mkdir(exist_ok=True)
        Image.fromarray(found).save(FAILED / f"{path.stem}.found.png")
        Image.fromarray(wanted).save(FAILED / f"{path.stem}.wanted.png")
    return int(gap.max()), float(gap.mean())
