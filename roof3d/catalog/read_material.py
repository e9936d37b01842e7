"""Read one material from its table."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Final

from roof3d.catalog.material import Material, MaterialForm, Method, WeatherBand
from roof3d.catalog.table import TableReader, parse_rate
from roof3d.units import (
    format_length,
    parse_length,
    parse_temperature,
    parse_volume,
    parse_weight,
)

_SIZES: Final[dict[str, Callable[[str], float]]] = {
    **dict.fromkeys(
        (
            "thickness", "width", "length", "exposure", "side_lap", "end_lap", "selvage",
            "stagger", "side_offset", "end_offset", "course_offset", "shortest",
        ),
        parse_length,
    ),
    "rate": parse_rate,
    "pack_volume": parse_volume,
    "pack_weight": parse_weight,
}  # fmt: skip
_SOURCED: Final = (*_SIZES, "pack_count", "standard")
_KEYS: Final = {"id", "name", "form", "purpose", "note", "pack", "sources", "weather", *_SOURCED}
_BAND_KEYS: Final = {"least", "most", "method", "caution", "source", "primed"}
_OWN: Final = "from the model's own file"
"""Source of a value that stands without one in a material that is like another."""
_PACKS: Final = ("roll", "bundle", "box", "pail", "length", "piece")
_PACKS_OF_ONE: Final = {"roll", "length", "piece"}

_SOLID: Final = ("thickness", "width", "length")
_NEEDED: Final = {
    MaterialForm.DECK: _SOLID,
    MaterialForm.SHEET: (*_SOLID, "side_lap", "end_lap"),
    MaterialForm.SHINGLE: (*_SOLID, "exposure"),
    MaterialForm.STRIP: _SOLID,
    MaterialForm.METAL: _SOLID,
    MaterialForm.LIQUID: ("pack_volume",),
    MaterialForm.FASTENER: ("length",),
    MaterialForm.UNIT: (),
}
"""Sizes without which nothing of that form can be laid or counted."""
_NOTHING: Final = Material(id="", name="", form=MaterialForm.UNIT, purpose="", source="")


def read_material(reader: TableReader, model: Material | None = None) -> Material:
    """Read one ``[[material]]`` table; faults are noted in the reader.

    Parameters
    ----------
    reader : TableReader
    model : Material or None
        What holds where the table says nothing, each value with its source.

    Returns
    -------
    Material
        To be used only where no fault was noted.
    """
    reader.only(_KEYS if model is None else {*_KEYS, "like"} - {"form"})
    like = model or _NOTHING
    sizes = {key: reader.measure(key, parse, getattr(like, key)) for key, parse in _SIZES.items()}
    form = model.form if model else MaterialForm(reader.choice("form", tuple(MaterialForm)))
    standard = reader.text("standard", like.standard, needed=False)
    pack, pack_count = _pack(reader, form, like)
    _check_sizes(reader, form, sizes)
    sources = _sources(reader, model)
    return Material(
        id=reader.name("id"),
        name=reader.text("name", like.name),
        form=form,
        purpose=reader.text("purpose", like.purpose),
        source="; ".join(f"{value}: {source}" for value, source in sources),
        standard=standard,
        note=reader.text("note", like.note, needed=False),
        sources=sources,
        pack=pack,
        pack_count=pack_count,
        weather=_weather(reader) if "weather" in reader.values else like.weather,
        **sizes,
    )


def _pack(reader: TableReader, form: MaterialForm, like: Material) -> tuple[str, float]:
    """Return what it is sold in and how many; deck boards are not ordered here."""
    if form is MaterialForm.DECK:
        return "", 0.0
    same = bool(like.pack) and "pack" not in reader.values
    pack = like.pack if same else reader.choice("pack", _PACKS)
    if form is MaterialForm.LIQUID:
        if "pack_count" in reader.values:
            reader.fault("pack_count", "a liquid is not counted", "give pack_volume")
        return pack, 0.0
    if not same and pack not in _PACKS_OF_ONE and "pack_count" not in reader.values:
        reader.fault("pack_count", f"missing: how many in a {pack}")
    return pack, float(reader.count("pack_count", int(like.pack_count) if same else 1))


def _check_sizes(reader: TableReader, form: MaterialForm, sizes: dict[str, float]) -> None:
    """Note sizes that are missing, and sizes that no piece can have."""
    for key in _NEEDED[form]:
        if key not in reader.values and not sizes[key]:
            reader.fault(key, f"missing: a {form} needs it")
    known = {key for key, size in sizes.items() if size} | set(reader.values)
    if form is MaterialForm.LIQUID and not {"rate", "thickness"} & known:
        reader.fault("rate", "missing: a liquid needs it, or the thickness of its bed")
    across = "length" if form is MaterialForm.STRIP else "width"
    limits = (
        ("side_lap", "width", "the lap leaves nothing of the width"),
        ("end_lap", "length", "the lap leaves nothing of the length"),
        ("selvage", "width", "the selvage leaves nothing of the width"),
    )
    for key, limit, message in limits:
        if 0.0 < sizes[limit] <= sizes[key]:
            _too_large(reader, key, limit, message, sizes)
    if 0.0 < sizes[across] < sizes["exposure"]:
        _too_large(reader, "exposure", across, "more shows than there is", sizes)
    if 0.0 < sizes["length"] < sizes["shortest"]:
        _too_large(reader, "shortest", "length", "no piece is that long", sizes)


def _too_large(
    reader: TableReader, key: str, limit: str, message: str, sizes: dict[str, float]
) -> None:
    asked, most = (
        f'"{reader.values[name]}"' if name in reader.values else format_length(sizes[name])
        for name in (key, limit)
    )
    reader.fault(key, f"{message}: {asked} against a {limit} of {most}")


def _sources(reader: TableReader, model: Material | None) -> tuple[tuple[str, str], ...]:
    """Return the source of each value; a value without one is a fault, and so is the reverse.

    A value that differs from the model's may stand without one: the user's file is its source.
    """
    table = TableReader(reader.values.get("sources", {}), f"{reader.where}.sources", reader.faults)
    given = [key for key in _SOURCED if key in reader.values]
    for key in table.values:
        if key not in given:
            table.fault(key, "is the source of a value that is not given")
    if model is None:
        return tuple((key, table.text(key)) for key in given)
    known = dict(model.sources) | {key: table.text(key, _OWN) for key in given}
    return tuple((key, known[key]) for key in _SOURCED if key in known)


def _weather(reader: TableReader) -> tuple[WeatherBand, ...]:
    """Return the weather bands; they must go up without gap or overlap."""
    tables = reader.tables("weather", needed=False)
    bands = tuple(_band(table) for table in tables)
    for table, (colder, band) in zip(tables[1:], pairwise(bands), strict=True):
        if colder.most < band.least:
            table.fault("least", "leaves a gap above the band before it")
        elif colder.most > band.least:
            table.fault("least", "overlaps the band before it", "write the coldest band first")
    return bands


def _band(table: TableReader) -> WeatherBand:
    table.only(_BAND_KEYS)
    least = table.parsed("least", parse_temperature, -math.inf)
    most = table.parsed("most", parse_temperature, math.inf)
    if not least < most:
        table.fault("most", "must be above least")
    return WeatherBand(
        least=least,
        most=most,
        method=Method(table.choice("method", tuple(Method))),
        caution=table.text("caution"),
        source=table.text("source"),
        primed=table.flag("primed"),
    )
