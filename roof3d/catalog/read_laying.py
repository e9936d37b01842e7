"""Read layers, strips and their nails from the tables of an assembly."""

from __future__ import annotations

from dataclasses import MISSING, fields, replace
from typing import Final, TypeVar

from roof3d.catalog.laying import Border, Layer, Nailing, Reach, StripRule
from roof3d.catalog.table import TableReader, shown
from roof3d.units import parse_length, parse_pitch

_LAYER_KEYS: Final = {
    "material", "role", "fastening", "source", "reach", "first", "side_lap", "end_lap", "clear",
    "along_from", "nailing", "ice_only", "after_ice", "bed", "bed_sides", "primer",
}  # fmt: skip
_STRIP_KEYS: Final = {
    "id", "material", "at", "source", "start", "width", "lap", "per_course", "first", "each",
    "extra", "nailing", "bed", "bed_width", "primer", "primed_faces", "valley", "ice_only", "vent",
    "no_vent", "rake_starter", "opening", "no_cricket", "before", "past", "parapet", "over",
    "higher_than", "joints_of",
}  # fmt: skip
_NAIL_LENGTHS: Final = (
    "lap_spacing", "lap_start", "field_spacing", "strip_first", "strip_between", "line", "inset",
)  # fmt: skip
_NAIL_COUNTS: Final = ("field_rows", "strip_rows", "per_piece", "per_piece_wind")
_NAIL_SHARES: Final = ("perimeter_share", "corner_share")
_NAIL_KEYS: Final = {"fastener", "source", *_NAIL_LENGTHS, *_NAIL_COUNTS, *_NAIL_SHARES}
_NEEDS: Final = (
    ("field_rows", "field_spacing"),
    ("field_spacing", "field_rows"),
    ("strip_rows", "lap_spacing"),
    ("strip_first", "strip_rows"),
    ("strip_between", "strip_rows"),
    ("per_piece", "line"),
    ("per_piece_wind", "per_piece"),
)
"""Nail values that say nothing without another one."""
_VALLEYS: Final = ("open", "closed_cut")
_OPENINGS: Final = ("chimney", "skylight", "pipe", "drain", "scupper")
_PARAPETS: Final = ("never", "inside", "outside")
_OVER: Final = ("top", "wall")
_FACES: Final = 2

_NO_LAYER: Final = Layer(material="", role="", fastening="", source="")
_NO_STRIP: Final = StripRule(id="", material="", at=(), source="")
_NO_NAILS: Final = Nailing(fastener="", source="")
_Part = TypeVar("_Part", Layer, StripRule)


def read_layer(reader: TableReader, model: Layer | None = None) -> Layer:
    """Read one ``[[assembly.layer]]`` table; faults are noted in the reader.

    Parameters
    ----------
    reader : TableReader
    model : Layer or None
        What holds where the table says nothing, but for what it leaves out.

    Returns
    -------
    Layer
        To be used only where no fault was noted.
    """
    like = _less(reader, model, _LAYER_KEYS) or _NO_LAYER
    layer = Layer(
        material=reader.text("material", like.material),
        role=reader.name("role"),
        fastening=reader.text("fastening", like.fastening),
        source=reader.text("source", like.source),
        reach=_reaches(reader.table("reach"), like.reach),
        first=reader.share("first", like.first),
        side_lap=reader.measure("side_lap", parse_length, like.side_lap),
        end_lap=reader.measure("end_lap", parse_length, like.end_lap),
        clear=reader.measure("clear", parse_length, like.clear),
        along_from=reader.measure("along_from", parse_pitch, like.along_from),
        nailing=_nailing(reader.table("nailing"), like.nailing),
        ice_only=reader.flag("ice_only", default=like.ice_only),
        after_ice=reader.measure("after_ice", parse_length, like.after_ice),
        bed=reader.text("bed", like.bed, needed=False),
        bed_sides=reader.flag("bed_sides", default=like.bed_sides),
        primer=reader.text("primer", like.primer, needed=False),
    )
    if layer.bed_sides and not layer.bed:
        reader.fault("bed", "missing: bed_sides is given")
    return layer


def read_strip(reader: TableReader, model: StripRule | None = None) -> StripRule:
    """Read one ``[[assembly.strip]]`` table; faults are noted in the reader.

    Parameters
    ----------
    reader : TableReader
    model : StripRule or None
        What holds where the table says nothing, but for what it leaves out.

    Returns
    -------
    StripRule
        To be used only where no fault was noted.
    """
    like = _less(reader, model, _STRIP_KEYS) or _NO_STRIP
    strip = StripRule(
        id=reader.name("id"),
        material=reader.text("material", like.material),
        at=_borders(reader) if "at" in reader.values or not like.at else like.at,
        source=reader.text("source", like.source),
        start=reader.reach("start", like.start),
        width=reader.measure("width", parse_length, like.width),
        lap=reader.measure("lap", parse_length, like.lap),
        per_course=reader.flag("per_course", default=like.per_course),
        first=reader.measure("first", parse_length, like.first),
        each=reader.flag("each", default=like.each),
        extra=reader.count("extra", like.extra),
        nailing=_nailing(reader.table("nailing"), like.nailing),
        bed=reader.text("bed", like.bed, needed=False),
        bed_width=reader.measure("bed_width", parse_length, like.bed_width),
        primer=reader.text("primer", like.primer, needed=False),
        primed_faces=reader.count("primed_faces", like.primed_faces),
        valley=reader.choice("valley", _VALLEYS) if "valley" in reader.values else like.valley,
        ice_only=reader.flag("ice_only", default=like.ice_only),
        vent=reader.flag("vent", default=like.vent),
        no_vent=reader.flag("no_vent", default=like.no_vent),
        rake_starter=reader.flag("rake_starter", default=like.rake_starter),
        opening=reader.choice("opening", _OPENINGS) if "opening" in reader.values else like.opening,
        no_cricket=reader.flag("no_cricket", default=like.no_cricket),
        before=reader.text("before", like.before, needed=False),
        past=reader.measure("past", parse_length, like.past),
        parapet=reader.choice("parapet", _PARAPETS) if "parapet" in reader.values else like.parapet,
        over=reader.choice("over", _OVER) if "over" in reader.values else like.over,
        higher_than=reader.measure("higher_than", parse_length, like.higher_than),
        joints_of=reader.text("joints_of", like.joints_of, needed=False),
    )
    _fits_together(strip, reader)
    given = {key for key in _STRIP_KEYS if key in reader.values or getattr(like, key)}
    for liquid, amount in (("bed", "bed_width"), ("primer", "primed_faces")):
        if (liquid in given) != (amount in given):
            missing, other = (amount, liquid) if liquid in given else (liquid, amount)
            reader.fault(missing, f"missing: {other} is given")
    if strip.primed_faces > _FACES:
        reader.fault("primed_faces", f"a strip has two faces, not {strip.primed_faces}")
    return strip


def _fits_together(strip: StripRule, reader: TableReader) -> None:
    """Note what rules each other out."""
    if strip.per_course and strip.each:
        reader.fault("each", "cannot stand beside per_course")
    if strip.vent and strip.no_vent:
        reader.fault("no_vent", "cannot stand beside vent")
    for key in ("over", "higher_than", "joints_of"):
        if getattr(strip, key) and strip.parapet not in {"inside", "outside"}:
            reader.fault("parapet", f"missing: {key} is given", "inside or outside")
    for key in ("per_course", "each"):
        if strip.past and getattr(strip, key):
            reader.fault("past", f"cannot stand beside {key}")


def _less(reader: TableReader, model: _Part | None, keys: set[str]) -> _Part | None:
    """Note unknown keys, and return the model without what the table leaves out."""
    if model is None:
        reader.only(keys)
        return None
    reader.only({*keys, "without"})
    blank = {field.name: field.default for field in fields(model) if field.default is not MISSING}
    left_out = reader.names("without")
    for index, key in enumerate(left_out):
        if key not in blank or getattr(model, key) == blank[key]:
            has = ", ".join(name for name in blank if getattr(model, name) != blank[name])
            message = f"{shown(key)} is nothing that can be left out here"
            reader.fault(f"without[{index}]", message, f"may be: {has}" if has else "")
    return replace(model, **{key: blank[key] for key in left_out if key in blank})


def _reaches(
    table: TableReader | None, known: tuple[tuple[Border, Reach], ...]
) -> tuple[tuple[Border, Reach], ...]:
    """Return the reaches of a table, and of those known the ones that it says nothing of."""
    if table is None:
        return known
    table.only(tuple(Border))
    own = {Border(key): table.reach(key) for key in table.values if key in set(Border)}
    return tuple((dict(known) | own).items())


def _borders(reader: TableReader) -> tuple[Border, ...]:
    value = reader.values.get("at")
    if not isinstance(value, list) or not value:
        reader.fault("at", "must be a list of one or more edges", f"allowed: {', '.join(Border)}")
        return ()
    found = []
    for index, name in enumerate(value):
        if name not in tuple(Border):
            allowed = f"allowed: {', '.join(Border)}"
            reader.fault(f"at[{index}]", f"{shown(name)} is none of the edges", allowed)
        elif name in value[:index]:
            reader.fault(f"at[{index}]", f"{shown(name)} is given twice")
        else:
            found.append(Border(name))
    return tuple(found)


def _nailing(table: TableReader | None, model: Nailing | None) -> Nailing | None:
    if table is None:
        return model
    table.only(_NAIL_KEYS)
    like = model or _NO_NAILS
    lengths = {key: table.measure(key, parse_length, getattr(like, key)) for key in _NAIL_LENGTHS}
    counts = {key: table.count(key, getattr(like, key)) for key in _NAIL_COUNTS}
    given = {key for key in _NAIL_KEYS if key in table.values or getattr(like, key)}
    for key, needed in _NEEDS:
        if key in given and needed not in given:
            table.fault(needed, f"missing: {key} is given")
    if not {"lap_spacing", "field_spacing", "per_piece"} & given:
        table.fault("", "says nowhere how many: give lap_spacing, field_spacing or per_piece")
    if 0 < counts["per_piece_wind"] < counts["per_piece"]:
        table.fault("per_piece_wind", "is fewer than per_piece")
    return Nailing(
        fastener=table.text("fastener", like.fastener),
        source=table.text("source", like.source),
        lap_spacing=lengths["lap_spacing"],
        lap_start=lengths["lap_start"],
        field_spacing=lengths["field_spacing"],
        field_rows=counts["field_rows"],
        strip_rows=counts["strip_rows"],
        strip_first=lengths["strip_first"],
        strip_between=lengths["strip_between"],
        per_piece=counts["per_piece"],
        per_piece_wind=counts["per_piece_wind"] or counts["per_piece"],
        line=lengths["line"],
        inset=lengths["inset"],
        perimeter_share=table.share("perimeter_share", like.perimeter_share),
        corner_share=table.share("corner_share", like.corner_share),
    )
