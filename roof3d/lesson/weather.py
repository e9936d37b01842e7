"""What the temperature of the day changes, step by step."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from roof3d.catalog.material import Material, Method, WeatherBand
from roof3d.details.model import DetailLayer
from roof3d.lesson.model import Day, Fact, WeatherRow
from roof3d.lesson.roles import belongs
from roof3d.lesson.rows import read_rows
from roof3d.units import Units, format_temperature, parse_temperature

COLDEST, HOTTEST = "-60 F", "180 F"
"""Of a deck under a roofer: common practice, no source."""

HOW: Final = {
    Method.SUN: "lay it",
    Method.ROLLED: "lay it, and roll it down hard",
    Method.HOT_AIR: "weld it with hot air",
    Method.NOT_AT_ALL: "do not lay it",
}
"""How a material is laid on a day, in a few words."""

_STUCK = re.compile(r"adhesive|bonded|hot air|rolled")
"""In the words for how a layer is held: what hot air takes the place of."""


def parse_day(text: str) -> float:
    """Read the temperature of sheet and deck on a day, degrees Celsius.

    Raises
    ------
    ValueError
        With a sentence that shows the value and what is allowed.

    Examples
    --------
    >>> parse_day("50 F")
    10.0
    """
    celsius = parse_temperature(text)
    if not parse_temperature(COLDEST) <= celsius <= parse_temperature(HOTTEST):
        raise ValueError(f'"{text}" is no day for a roof: {COLDEST} to {HOTTEST} is allowed')
    return celsius


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
    """Return what the day changes at a layer; () for nothing.

    First what the catalog says of its material, or that it is not to be laid where the whole day
    says so and the catalog does not.
    """
    facts = []
    day = _band(celsius)
    band = None if material is None else material.band_at(celsius)
    if "stop" in day and not (band is not None and band.method is Method.NOT_AT_ALL):
        facts.append(Fact(text=day["stop"], source=day["source"]))
    elif band is not None:
        facts.append(Fact(text=band_words(band), source=band.source))
    facts += [
        Fact(text=change["text"], source=change["source"])
        for change in _changes(celsius, layer, roles)
    ]
    return tuple(facts)


def must_stop(
    celsius: float | None, layer: DetailLayer, roles: frozenset[str], material: Material | None
) -> bool:
    """Whether a layer is not to be laid at a temperature."""
    if celsius is None:
        return False
    band = None if material is None else material.band_at(celsius)
    return (
        "stop" in _band(celsius)
        or (band is not None and band.method is Method.NOT_AT_ALL)
        or any(change.get("stop", False) for change in _changes(celsius, layer, roles))
    )


def changed_band(celsius: float | None, material: Material | None) -> WeatherBand | None:
    """Return how a material is laid on a day, where that is not its way on a warm one."""
    if celsius is None or material is None or not material.weather:
        return None
    band = material.band_at(celsius)
    return None if band is None or band.method is material.weather[-1].method else band


def asks_welding(band: WeatherBand | None) -> bool:
    """Whether something of a material is welded in a band."""
    return band is not None and "weld" in band.caution


def held_words(fastening: str, band: WeatherBand | None, at: str, *, stop: bool) -> str:
    """Say how a layer is held on a day.

    Parameters
    ----------
    fastening : str
        How it is held on a warm one.
    band : WeatherBand or None
        As ``changed_band`` returns it.
    at : str
        The temperature.
    stop : bool
        Whether it is not laid at all.

    Examples
    --------
    >>> from roof3d.catalog.load import load_catalog
    >>> _, cold, cool, *_ = load_catalog().material("granule-cap").weather
    >>> held_words("its own adhesive, rolled; no nails", cold, "38 F", stop=False)
    'welded with hot air (at 38 F); no nails'
    >>> held_words("its own adhesive, rolled", cool, "45 F", stop=False)
    'its own adhesive, rolled; at 45 F on a primer, rolled twice, laps and ends welded'
    >>> held_words("capped nails", None, "25 F", stop=True)
    'not laid at 25 F; on a day that allows it: capped nails'
    """
    if stop:
        return f"not laid at {at}; on a day that allows it: {fastening}"
    if band is not None and band.method is Method.HOT_AIR:
        rest = [clause for clause in fastening.split("; ") if not _STUCK.search(clause)]
        return "; ".join((f"welded with hot air (at {at})", *rest))
    if band is not None and band.method is Method.ROLLED:
        primer = " on a primer," if band.primed else ""
        weld = ", laps and ends welded" if asks_welding(band) else ""
        return f"{fastening.rstrip('.')}; at {at}{primer} rolled twice{weld}"
    return fastening


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
    >>> [span_words(bands[k], Units.IMPERIAL) for k in (0, 1, -1)]
    ['below 32 F', '32 F to below 40 F', '95 F and above']
    """
    least, most = (format_temperature(t, units) if math.isfinite(t) else "" for t in _ends(band))
    if not least:
        return f"below {most}" if most else "at any temperature"
    return f"{least} to below {most}" if most else f"{least} and above"


def _ends(band: WeatherBand) -> tuple[float, float]:
    return band.least, band.most


def _changes(
    celsius: float, layer: DetailLayer, roles: frozenset[str]
) -> tuple[Mapping[str, Any], ...]:
    changes = _band(celsius).get("change", ())
    return tuple(change for change in changes if belongs(change, layer, roles))


def _band(celsius: float) -> Mapping[str, Any]:
    """Row of the day's band: they follow one another without a gap, coldest first."""
    rows = read_rows("weather.band")
    return next(
        row for row in rows if "below" not in row or celsius < parse_temperature(row["below"])
    )
