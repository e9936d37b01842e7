"""What the temperature of the day changes, step by step."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, Final

from roof3d.catalog.material import Material, Method, WeatherBand
from roof3d.details.model import DetailLayer
from roof3d.lesson.model import Day, Fact, WeatherRow
from roof3d.lesson.roles import belongs
from roof3d.lesson.rows import read_rows
from roof3d.units import Units, format_temperature, parse_temperature

HOW: Final = {
    Method.SUN: "lay it as usual",
    Method.ROLLED: "lay it, and roll it down hard",
    Method.HOT_AIR: "weld it with hot air",
    Method.NOT_AT_ALL: "do not lay it",
}
"""How a material is laid on a day, in a few words."""


def name_day(celsius: float, units: Units, materials: Iterable[Material] = ()) -> Day:
    """Return the day of a temperature of sheet and deck, degrees Celsius.

    More is said where one of the materials is a sheet that sticks by itself.
    """
    row = _band(celsius)
    sticks = any(band.method is Method.ROLLED for made in materials for band in made.weather)
    told = (row["summary"], row.get("sheets", "") if sticks else "")
    return Day(
        celsius=celsius,
        words=format_temperature(celsius, units),
        name=row["name"],
        summary=" ".join(filter(None, told)),
        source=row["source"],
    )


def day_facts(
    celsius: float, layer: DetailLayer, roles: frozenset[str], material: Material | None
) -> tuple[Fact, ...]:
    """Return what the day changes at a layer: the catalog's words first; () for nothing."""
    facts = []
    band = None if material is None else material.band_at(celsius)
    if band is not None:
        facts.append(Fact(text=band_words(band), source=band.source))
    facts += [
        Fact(text=change["text"], source=change["source"])
        for change in _band(celsius).get("change", ())
        if belongs(change, layer, roles)
    ]
    return tuple(facts)


def must_stop(celsius: float | None, material: Material | None) -> bool:
    """Whether a material is not to be laid at a temperature."""
    if celsius is None or material is None:
        return False
    band = material.band_at(celsius)
    return band is not None and band.method is Method.NOT_AT_ALL


def band_words(band: WeatherBand) -> str:
    """Say how a material is laid in a band: the way, and what to mind."""
    how = HOW[band.method]
    return f"{how[0].upper()}{how[1:]}. {band.caution}".strip()


def weather_rows(materials: Iterable[Material], units: Units) -> tuple[WeatherRow, ...]:
    """Return a row for each band of each material, coldest first."""
    return tuple(
        WeatherRow(
            material=material.id,
            name=material.name,
            span=span_words(band, units),
            words=band_words(band),
            source=band.source,
        )
        for material in materials
        for band in material.weather
    )


def span_words(band: WeatherBand, units: Units) -> str:
    """Say from what temperature to what a band goes.

    Examples
    --------
    >>> from roof3d.catalog.load import load_catalog
    >>> bands = load_catalog().material("granule-cap").weather
    >>> [span_words(band, Units.IMPERIAL) for band in bands]
    ['below 20 F', '20 F to below 40 F', '40 F to below 50 F', '50 F and above']
    """
    least, most = (format_temperature(t, units) if math.isfinite(t) else "" for t in _ends(band))
    if not least:
        return f"below {most}" if most else "at any temperature"
    return f"{least} to below {most}" if most else f"{least} and above"


def _ends(band: WeatherBand) -> tuple[float, float]:
    return band.least, band.most


def _band(celsius: float) -> Mapping[str, Any]:
    """Row of the day's band: they follow one another without a gap, coldest first."""
    rows = read_rows("weather.band")
    return next(
        row for row in rows if "below" not in row or celsius < parse_temperature(row["below"])
    )
