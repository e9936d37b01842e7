"""Short safety lines that every output which could send someone onto a roof carries."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from roof3d.catalog.model import Catalog
from roof3d.errors import CatalogError
from roof3d.rules.assembly import AssemblyChoice
from roof3d.rules.limits import read_data
from roof3d.rules.weather import needs_hot_air
from roof3d.spec.model import RoofSpec
from roof3d.units import parse_temperature


class When(StrEnum):
    """When a caution must be shown."""

    ALWAYS = "always"
    HEAT = "heat"
    COLD = "cold"
    HOT = "hot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One line, where it comes from, and when it is shown.

    Attributes
    ----------
    id : str
    when : When
    text, source : str
    least, most : float
        Temperatures of the day, degrees Celsius, from which on and below which it is shown;
        -inf and inf unless ``when`` is cold or hot.
    limit_source : str
        Where that temperature comes from; empty where there is none.
    """

    id: str
    when: When
    text: str
    source: str
    least: float = -math.inf
    most: float = math.inf
    limit_source: str = ""

    @property
    def line(self) -> str:
        """The text with its source in brackets, for a picture's foot."""
        return f"{self.text} ({self.source})" if self.source else self.text


@cache
def load_cautions() -> tuple[Caution, ...]:
    """Load the cautions that come with the program, in the order to show them.

    Raises
    ------
    CatalogError
        Where the data file is missing or wrong.
    """
    try:
        return tuple(_caution(row) for row in read_data("cautions.toml")["caution"])
    except (KeyError, ValueError, TypeError) as error:
        raise CatalogError(f"cannot be read: {error}", where="cautions.toml") from error


def _caution(row: Mapping[str, str]) -> Caution:
    when = When(row["when"])
    return Caution(
        id=row["id"],
        when=when,
        text=row["text"],
        source=row["source"],
        least=parse_temperature(row["from"]) if when is When.HOT else -math.inf,
        most=parse_temperature(row["below"]) if when is When.COLD else math.inf,
        limit_source=row["limit_source"] if when in {When.COLD, When.HOT} else "",
    )


def cautions_for(
    choices: Iterable[AssemblyChoice], catalog: Catalog, spec: RoofSpec | None = None
) -> tuple[str, ...]:
    """Return the caution lines for what lies on a roof.

    Parameters
    ----------
    choices : iterable of AssemblyChoice
        The planes in view; may be empty.
    catalog : Catalog
        Holds every assembly chosen.
    spec : RoofSpec, optional
        Its temperature adds what a cold or a hot day asks for, and tells whether the method
        of the day is hot air; without it neither is asked.

    Returns
    -------
    tuple[str, ...]
        At least falls, ladder and who decides; hot tools too where any assembly in view
        is laid with heat, by its kind or on that day. One line each, with its source.
    """
    in_view = tuple(choices)
    heat = any(catalog.assembly(choice.assembly).uses_heat for choice in in_view)
    if spec is not None:
        heat = heat or needs_hot_air(spec, catalog, in_view)
    celsius = None if spec is None else spec.site.temperature
    return tuple(
        caution.line for caution in load_cautions() if _is_shown(caution, celsius, heat=heat)
    )


def _is_shown(caution: Caution, celsius: float | None, *, heat: bool) -> bool:
    match caution.when:
        case When.ALWAYS:
            return True
        case When.HEAT:
            return heat
        case When.COLD | When.HOT:
            return celsius is not None and caution.least <= celsius < caution.most
