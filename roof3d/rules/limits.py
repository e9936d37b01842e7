"""Read the rule limits from data: each figure with its edition and clause."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from roof3d.errors import CatalogError, RoofError
from roof3d.units import parse_length, parse_pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLimit:
    """One band of slopes: up to, and without, ``below``.

    Attributes
    ----------
    id : str
    below : float
        Rise over run; inf for the steepest band.
    means : str
        What may lie there, in plain words.
    source : str
        Edition and clause.
    """

    id: str
    below: float
    means: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Every limit that the checks use.

    Attributes
    ----------
    bands : tuple[BandLimit, ...]
        From the flattest up, limits rising.
    least_drainage, least_drainage_rounded : float
        Least design slope, exact, and as the clause prints it rounded; rise over run.
    drainage_source : str
    cricket_width : float
        Penetrations wider than this across the slope, in metres, need a cricket.
    cricket_source : str
    """

    bands: tuple[BandLimit, ...]
    least_drainage: float
    least_drainage_rounded: float
    drainage_source: str
    cricket_width: float
    cricket_source: str


@cache
def load_limits() -> Limits:
    """Load the limits that come with the program.

    Returns
    -------
    Limits
        Read once a process.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    return parse_limits(read_data("slopes.toml"))


def parse_limits(data: dict[str, Any]) -> Limits:
    """Turn the data of ``slopes.toml`` into limits.

    Raises
    ------
    CatalogError
        Where a key is missing, a value cannot be read, or bands do not rise.
    """
    try:
        bands = tuple(
            BandLimit(
                id=band["id"],
                below=parse_pitch(band["below"]) if "below" in band else math.inf,
                means=band["means"],
                source=band["source"],
            )
            for band in data["band"]
        )
        limits = Limits(
            bands=bands,
            least_drainage=parse_pitch(data["drainage"]["least"]),
            least_drainage_rounded=parse_pitch(data["drainage"]["rounded"]),
            drainage_source=data["drainage"]["source"],
            cricket_width=parse_length(data["cricket"]["wider_than"]),
            cricket_source=data["cricket"]["source"],
        )
    except KeyError as error:
        raise CatalogError(f"{error} is missing", where="slopes.toml") from error
    except (RoofError, ValueError, TypeError, AttributeError) as error:
        raise CatalogError(f"cannot be read: {error}", where="slopes.toml") from error
    tops = [band.below for band in bands]
    if tops != sorted(set(tops)) or tops[-1:] != [math.inf]:
        raise CatalogError(
            f"bands must rise and the last have no upper limit, they end at {tops}",
            where="slopes.toml",
        )
    return limits


def read_data(name: str) -> dict[str, Any]:
    """Read one TOML file of this room.

    Raises
    ------
    CatalogError
        Where it is missing or no TOML.
    """
    try:
        text = (Path(__file__).parent / "data" / name).read_text(encoding="utf-8")
        return tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CatalogError(
            f"cannot be read: {error}", where=name, hint="install the program again"
        ) from error
