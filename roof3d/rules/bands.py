"""The published slope bands: what may lie on a plane of a given slope."""

from __future__ import annotations

import math
from enum import StrEnum

from roof3d.errors import CatalogError, InvariantError
from roof3d.rules.limits import BandLimit, load_limits
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import MOST_PITCH_PLACES, PITCH_PLACES, format_pitch


class Band(StrEnum):
    """Where a plane stands among the published limits, flattest first.

    Apart from a plane's kind: the kind follows the model's own cutoff, the band does not.
    """

    DEAD_LEVEL = "dead_level"
    NO_SHINGLES = "no_shingles"
    DOUBLE_UNDERLAYMENT = "double_underlayment"
    SINGLE_UNDERLAYMENT = "single_underlayment"


def band_of(slope: float, *, tol: Tolerance = DEFAULT) -> Band:
    """Return the band of a slope.

    Parameters
    ----------
    slope : float
        Rise over run, 0 or more, finite or inf.
    tol : Tolerance
        A slope within ``tol.slope`` below a limit counts as at the limit, so that
        a plane built from ``2:12`` and turned keeps its side.

    Returns
    -------
    Band
        A slope exactly at a limit belongs to the steeper band.

    Raises
    ------
    InvariantError
        Where the slope is negative or not a number.

    Examples
    --------
    >>> band_of(2 / 12)
    <Band.DOUBLE_UNDERLAYMENT: 'double_underlayment'>
    """
    return Band(band_limit(slope, tol=tol).id)


def band_limit(slope: float, *, tol: Tolerance = DEFAULT) -> BandLimit:
    """Return the data of the band of a slope: its upper limit, meaning and source.

    Raises
    ------
    InvariantError
        Where the slope is negative or not a number.
    CatalogError
        Where the data holds a band that this program does not know.
    """
    if not slope >= 0.0:
        raise InvariantError(f"slope must be 0 or more, is {slope}")
    limits = load_limits()
    if [band.id for band in limits.bands] != list(Band):
        raise CatalogError(f"bands must be {', '.join(Band)}", where="slopes.toml")
    for band in limits.bands[:-1]:
        if slope < band.below - tol.slope:
            return band
    return limits.bands[-1]


def pitch_beside(
    slope: float, limit: float, *, tol: Tolerance = DEFAULT, decimal: bool = False
) -> str:
    """Write a slope so that it reads otherwise than the limit it is held against.

    Parameters
    ----------
    slope : float
        Rise over run.
    limit : float
        Rise over run, finite or inf.
    tol : Tolerance
        Slopes within ``tol.slope`` are one and may read alike.
    decimal : bool
        No fractions: for what is read by programs.

    Returns
    -------
    str
        As ``format_pitch`` writes it, with more decimals only where both would read alike.

    Examples
    --------
    >>> pitch_beside(1.99999 / 12, 2 / 12), pitch_beside(2 / 12, 2 / 12)
    ('1.99999:12', '2:12')
    """

    def write(value: float, places: int | None = None) -> str:
        return format_pitch(value, places=places, decimal=decimal)

    text = write(slope)
    if not math.isfinite(limit) or abs(slope - limit) <= tol.slope or text != write(limit):
        return text
    for places in range(PITCH_PLACES, MOST_PITCH_PLACES + 1):
        text = write(slope, places)
        if text != write(limit, places):
            break
    return text
