"""What a roof is made of: one generic product a value, with the source of each size."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class MaterialForm(StrEnum):
    """How a material comes."""

    DECK = "deck"
    SHEET = "sheet"
    SHINGLE = "shingle"
    STRIP = "strip"
    METAL = "metal"
    LIQUID = "liquid"
    FASTENER = "fastener"
    UNIT = "unit"


class Method(StrEnum):
    """How a sheet is bonded at a temperature, or that it must not be laid."""

    SUN = "sun"
    ROLLED = "rolled"
    HOT_AIR = "hot_air"
    NOT_AT_ALL = "not_at_all"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherBand:
    """What may be done with a material on a day of a temperature, from ``least`` to ``most``.

    Degrees Celsius; from ``least`` on and below ``most``, which may be -inf and inf. ``primed``
    where what lies below is to be primed that day.
    """

    least: float
    most: float
    method: Method
    caution: str
    source: str
    primed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One generic product. Lengths in metres; 0 where a size does not apply.

    Attributes
    ----------
    id, name : str
    form : MaterialForm
    thickness, width, length : float
        True thickness; roll or strip width (for a shingle its height up the slope, for
        a metal its flange, for a fastener its head); roll, strip or piece length.
    exposure : float
        Exposed height of a shingle course, or exposed length of a hip or ridge piece.
    side_lap, end_lap : float
        Least laps.
    selvage : float
        Bare edge of a cap sheet, meant to be lapped.
    stagger : float
        Least distance of end laps (of a shingle: joints) in neighbouring courses.
    side_offset, end_offset : float
        Least distance of its side laps and of its end laps from those of the touching layer
        below.
    course_offset : float
        Of a shingle: by how much each course is shifted against the one below.
    shortest : float
        Shortest piece worth laying.
    rate : float
        Of a liquid spread thin: volume on an area, metres (m3 on m2); 0 where the
        thickness of the bed tells.
    pack : str
        What it is sold in: ``roll``, ``bundle``, ``box``, ``pail``, ``length``.
    pack_count : float
        Pieces in a pack: 1 roll, 21 shingles, nails in a box; 0 for a liquid.
    pack_volume : float
        Of a liquid: m3 in a pack.
    pack_weight : float
        Kilograms of a pack; 0 where not known.
    standard : str
        Number of its material standard, or empty.
    purpose : str
        What it is for, in plain words.
    source : str
        Where the values come from, or ``common practice, no source``; all of
        ``sources`` in one line.
    note : str
        What else the data says, in plain words; may be empty.
    sources : tuple[tuple[str, str], ...]
        For each value given, its name and where it comes from.
    weather : tuple[WeatherBand, ...]
        Coldest first, without gaps; empty where no temperature matters.
    """

    id: str
    name: str
    form: MaterialForm
    purpose: str
    source: str
    thickness: float = 0.0
    width: float = 0.0
    length: float = 0.0
    exposure: float = 0.0
    side_lap: float = 0.0
    end_lap: float = 0.0
    selvage: float = 0.0
    stagger: float = 0.0
    side_offset: float = 0.0
    end_offset: float = 0.0
    course_offset: float = 0.0
    shortest: float = 0.0
    rate: float = 0.0
    pack: str = ""
    pack_count: float = 0.0
    pack_volume: float = 0.0
    pack_weight: float = 0.0
    standard: str = ""
    note: str = ""
    sources: tuple[tuple[str, str], ...] = ()
    weather: tuple[WeatherBand, ...] = ()

    def source_of(self, value: str) -> str:
        """Return where one value comes from, by its field name; KeyError if not given."""
        return dict(self.sources)[value]

    def band_at(self, celsius: float) -> WeatherBand | None:
        """Return the weather band of a temperature; None where no band holds it."""
        for band in self.weather:
            if band.least <= celsius < band.most:
                return band
        return None
