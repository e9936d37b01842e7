"""Sizes of crickets and valleys: what follows from the roof by a printed rule."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from roof3d.errors import CatalogError, RoofError
from roof3d.units import FOOT, parse_length

_FILE: Final = "flashing.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlashingRule:
    """Rule values of crickets and valleys, metres, each with edition and clause.

    Attributes
    ----------
    cricket_wider_than : float
        Penetrations wider than this across the slope need a cricket.
    cricket_source, cricket_height_source : str
    valley_clear_top : float
        Between the shingles of both sides of an open valley, at its top.
    valley_clear_more : float
        Wider by this for each metre down the valley; a ratio.
    valley_clear_source : str
    valley_metal, valley_lining : float
        Least widths of the metal of an open valley and of the lining of a closed one.
    valley_metal_source, valley_lining_source : str
    """

    cricket_wider_than: float
    cricket_source: str
    cricket_height_source: str
    valley_clear_top: float
    valley_clear_more: float
    valley_clear_source: str
    valley_metal: float
    valley_metal_source: str
    valley_lining: float
    valley_lining_source: str


@cache
def load_flashing_rule() -> FlashingRule:
    """Load the values that come with the program.

    Returns
    -------
    FlashingRule
        Read once a process.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    path = Path(__file__).parent / "data" / _FILE
    try:
        text = path.read_text(encoding="utf-8")
        return parse_flashing_rule(tomllib.loads(text))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CatalogError(
            f"cannot be read: {error}", where=_FILE, hint="install the program again"
        ) from error


def parse_flashing_rule(data: dict[str, Any]) -> FlashingRule:
    """Turn the data of ``flashing.toml`` into rule values.

    Raises
    ------
    CatalogError
        Where a key is missing or a value cannot be read.
    """
    try:
        cricket, valley = data["cricket"], data["valley"]
        return FlashingRule(
            cricket_wider_than=parse_length(cricket["wider_than"]),
            cricket_source=cricket["source"],
            cricket_height_source=cricket["height_source"],
            valley_clear_top=parse_length(valley["clear"]["at_top"]),
            valley_clear_more=parse_length(valley["clear"]["more_per_foot"]) / FOOT,
            valley_clear_source=valley["clear"]["source"],
            valley_metal=parse_length(valley["metal"]["least_width"]),
            valley_metal_source=valley["metal"]["source"],
            valley_lining=parse_length(valley["lining"]["least_width"]),
            valley_lining_source=valley["lining"]["source"],
        )
    except KeyError as error:
        raise CatalogError(f"{error} is missing", where=_FILE) from error
    except (RoofError, ValueError, TypeError) as error:
        raise CatalogError(f"cannot be read: {error}", where=_FILE) from error


def cricket_size(width_across: float, slope: float) -> tuple[float, float, float]:
    """Return the size of a cricket whose sides fall as the roof does.

    Parameters
    ----------
    width_across : float
        Plan width of what it stands behind, square to the fall, metres.
    slope : float
        Of the roof plane, rise over run.

    Returns
    -------
    height, plan_back, along_slope : float
        Of its ridge over the roof at the back of the opening; how far its ridge runs back in
        plan until it meets the roof; the same along the slope. Metres.

    References
    ----------
    IRC, Table R1003.20 (from memory).

    Examples
    --------
    >>> [round(size / 0.0254, 1) for size in cricket_size(36 * 0.0254, 6 / 12)]
    [9.0, 18.0, 20.1]
    """
    half = width_across / 2.0
    return half * slope, half, half * math.hypot(1.0, slope)


def cricket_valley(width_across: float, slope: float) -> float:
    """Return the true length of each of the two valleys of that cricket, metres.

    From a back corner of the opening to where the ridge of the cricket meets the roof.
    """
    height, plan_back, _ = cricket_size(width_across, slope)
    return math.hypot(width_across / 2.0, plan_back, height)


def valley_clear_width(distance_down: float) -> float:
    """Return how far apart shingles stand in an open valley, metres.

    Parameters
    ----------
    distance_down : float
        From the top of the valley, metres along it, 0 or more.

    Examples
    --------
    >>> round(valley_clear_width(16 * 0.3048) / 0.0254, 6)
    8.0
    """
    rule = load_flashing_rule()
    return rule.valley_clear_top + rule.valley_clear_more * distance_down
