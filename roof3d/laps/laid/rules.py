"""Least laps by printed rules: they hold whatever a catalog says."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from roof3d.catalog.model import Assembly
from roof3d.errors import CatalogError, RoofError
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import parse_length, parse_pitch

_FILE: Final = "laps.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class LapRule:
    """Least laps of the layers of some roles.

    Attributes
    ----------
    kind : str
        Of the assembly.
    roles, over : tuple[str, ...]
        Of the layer; and of those below, one of which there must be, if any are named.
    least_slope, most_slope : float
        Rise over run of the plane: from, and below.
    side, end : float
        Between rows, and within one, metres.
    source : str
    """

    kind: str
    roles: tuple[str, ...]
    over: tuple[str, ...]
    least_slope: float
    most_slope: float
    side: float
    end: float
    source: str


@cache
def load_lap_rules() -> tuple[LapRule, ...]:
    """Load the rules that come with the program, once a process.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    path = Path(__file__).parents[1] / "data" / _FILE
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        return tuple(_parse(rule) for rule in data["rule"])
    except (OSError, KeyError, RoofError, ValueError, TypeError) as error:
        raise CatalogError(
            f"cannot be read: {error}", where=_FILE, hint="install the program again"
        ) from error


def _parse(rule: Mapping[str, Any]) -> LapRule:
    return LapRule(
        kind=rule["kind"],
        roles=tuple(rule["roles"]),
        over=tuple(rule.get("over", ())),
        least_slope=parse_pitch(rule["from"]) if "from" in rule else 0.0,
        most_slope=parse_pitch(rule["below"]) if "below" in rule else math.inf,
        side=parse_length(rule["side"]),
        end=parse_length(rule["end"]),
        source=rule["source"],
    )


def lap_rule(
    assembly: Assembly, role: str, slope: float, *, tol: Tolerance = DEFAULT
) -> LapRule | None:
    """Return the rule for a layer of an assembly on a plane; None where none is printed.

    Parameters
    ----------
    assembly : Assembly
    role : str
        Of one of its layers.
    slope : float
        Rise over run.
    tol : Tolerance
    """
    roles = [layer.role for layer in assembly.layers]
    below = set(roles[: roles.index(role)])
    for rule in load_lap_rules():
        if (
            rule.kind == assembly.kind
            and role in rule.roles
            and (not rule.over or below & set(rule.over))
            and rule.least_slope - tol.slope <= slope < rule.most_slope - tol.slope
        ):
            return rule
    return None
