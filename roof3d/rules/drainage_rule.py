"""Rule values of outlets and parapets from data: each figure with its edition and clause."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from roof3d.errors import CatalogError, RoofError
from roof3d.rules.limits import read_data
from roof3d.units import parse_length

_FILE: Final = "drainage.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainageRule:
    """Rule values of outlets and parapets, metres, each with edition and clause.

    Attributes
    ----------
    outlet_source : str
    overflow_sill, scupper_height : float
        Of overflows: inlet above the low point, and least height of a scupper's opening.
    scupper_share : float
        Area of the overflow scuppers to that of the drains.
    overflow_source : str
    water_weight : float
        Newtons a cubic metre.
    water_source : str
    least_flashing : float
        Up a wall, above the roof.
    flashing_source : str
    stops_above : float
        Walls higher than this need stops for their flashing.
    stops_source : str
    least_guard : float
        A wall lower than this is no guard against falls.
    guard_source : str
    """

    outlet_source: str
    overflow_sill: float
    scupper_height: float
    scupper_share: float
    overflow_source: str
    water_weight: float
    water_source: str
    least_flashing: float
    flashing_source: str
    stops_above: float
    stops_source: str
    least_guard: float
    guard_source: str


@cache
def load_drainage_rule() -> DrainageRule:
    """Load the values that come with the program, once a process.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    return parse_drainage_rule(read_data(_FILE))


def parse_drainage_rule(data: dict[str, Any]) -> DrainageRule:
    """Turn the data of ``drainage.toml`` into rule values.

    Raises
    ------
    CatalogError
        Where a key is missing or a value cannot be read.
    """
    try:
        overflow = data["overflow"]
        return DrainageRule(
            outlet_source=data["outlet"]["source"],
            overflow_sill=parse_length(overflow["sill"]),
            scupper_height=parse_length(overflow["scupper_height"]),
            scupper_share=float(overflow["scupper_share"]),
            overflow_source=overflow["source"],
            water_weight=float(data["water"]["weight"]),
            water_source=data["water"]["source"],
            least_flashing=parse_length(data["flashing"]["least"]),
            flashing_source=data["flashing"]["source"],
            stops_above=parse_length(data["stops"]["above"]),
            stops_source=data["stops"]["source"],
            least_guard=parse_length(data["guard"]["least"]),
            guard_source=data["guard"]["source"],
        )
    except KeyError as error:
        raise CatalogError(f"{error} is missing", where=_FILE) from error
    except (RoofError, ValueError, TypeError) as error:
        raise CatalogError(f"cannot be read: {error}", where=_FILE) from error
