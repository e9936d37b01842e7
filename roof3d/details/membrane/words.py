"""What is said of the sheets of a membrane, by how they are held."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.catalog.laying import Nailing
from roof3d.catalog.material import Material, Method
from roof3d.details.build_up import BuildUp
from roof3d.details.model import DetailLayer
from roof3d.details.rows import describe
from roof3d.details.site import DetailSite


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWords:
    """How a top sheet is held: in the field and on a metal flange, with tool and gear."""

    fastening: str
    at_metal: str
    why: str
    tool: str
    gear: str


_ADHERED = SheetWords(
    fastening="its own adhesive, rolled; no nails",
    at_metal="its own adhesive, or hot air; no nails",
    why="Weather surface: its granules, chosen to go with the shingle, shade the bitumen from "
    "the sun.",
    tool="hook knife, 75 lb roller, hot-air gun for cold laps",
    gear="gloves, long sleeves, fire watch with hot air",
)
_WELDED = SheetWords(
    fastening="welded to the base over its whole face; no nails",
    at_metal="welded onto the whole flange; no nails",
    why="The one waterproof sheet; its granules shade the bitumen from the sun.",
    tool="torch or hot air, lance, hand roller",
    gear="heat gloves, long sleeves, extinguisher, fire watch of two hours",
)
_SEAMED = SheetWords(
    fastening="plates and screws in the seams, the next sheet welded over them",
    at_metal="welded onto the coated flange",
    why="The one waterproof sheet, weather surface too.",
    tool="hot-air welder, screw gun, hand roller, probe",
    gear="heat gloves, eye guard, soft soles",
)
_NAILED = SheetWords(
    fastening="nails hidden in the plain half, the next sheet cemented over them",
    at_metal="cemented onto the whole flange; no nails in sight",
    why="Two layers everywhere; the granules shade the lower half of each from the sun.",
    tool="hammer, trowel, hook knife",
    gear="nitrile gloves, fresh air, no flame",
)


def top_sheet_words(site: DetailSite, plane_id: str) -> SheetWords:
    """Return how the top sheet of a membrane is held: glued, welded, seamed or nailed.

    Read off the layer's own rule: nailed sheets are held in their laps, with hot air over
    plates or with cement over nails; the others stick or are welded to what is below.
    """
    cap = site.layers(plane_id)["cap"]
    made = site.catalog.material(cap.material)
    welds = bool(made.weather) and all(
        band.method in {Method.HOT_AIR, Method.NOT_AT_ALL} for band in made.weather
    )
    if cap.nailing is not None:
        return _SEAMED if welds else _NAILED
    return _WELDED if welds else _ADHERED


def base_words(
    work: BuildUp, number: int, made: Material, size: str, rule: Nailing | None
) -> DetailLayer:
    """Return the words of a nailed base sheet at an edge, wall or joint."""
    fastening = "capped nails" if rule is None else _nailing_words(work, rule)
    return describe(
        number,
        made,
        size,
        fastening,
        "Takes the nails, movement of the deck and air pressure from below; a clean face for the "
        "next sheet; lets the roof be renewed without touching the deck.",
        tool="chalk line, hook knife, cap nailer",
        gear="eye guard, ear plugs, gloves",
        mistake="Caps driven in askew: their rims cut the sheet.",
        check="Run a hand over the caps: all flat, none sunk, none proud.",
    )


def _nailing_words(work: BuildUp, rule: Nailing) -> str:
    lap, field = (work.text(n) for n in (rule.lap_spacing, rule.field_spacing))
    return f"capped nails, {lap} apart in laps, {field} in {rule.field_rows} field rows"


def ply_words(number: int, made: Material, size: str, *, primed: bool) -> DetailLayer:
    """Return the words of a self-adhered ply; ``primed`` where it lies on the bare deck."""
    return describe(
        number,
        made,
        size,
        "its own adhesive on a primed deck, rolled" if primed else "its own adhesive, rolled",
        "First waterproof layer: closes round the nails below and seats the metal.",
        tool="hook knife, 75 lb roller, hand roller",
        gear="gloves, knee pads, soft soles",
        mistake="Release film pulled off before the sheet lies aligned; the strip at its selvage "
        "comes off last.",
        check="Lift a corner: it comes away with bitumen on both sides.",
    )


def cap_words(
    site: DetailSite, number: int, size: str, *, mistake: str, check: str, at_metal: bool = False
) -> DetailLayer:
    """Return the words of the top sheet of the place's first plane."""
    plane_id = site.place.planes[0]
    how = top_sheet_words(site, plane_id)
    check += " Every weld is probed with a trowel once it is cold."
    return describe(
        number,
        site.catalog.material(site.layers(plane_id)["cap"].material),
        size,
        how.at_metal if at_metal else how.fastening,
        how.why,
        tool=how.tool,
        gear=how.gear,
        mistake=mistake,
        check=check,
    )


def sheet_words(
    site: DetailSite,
    work: BuildUp,
    number: int,
    role: str,
    size: str,
    *,
    mistake: str,
    check: str,
) -> DetailLayer:
    """Return the words of base, ply or cap; ``mistake`` and ``check`` are said of the cap."""
    rule = site.layers(site.place.planes[0])[role]
    made = site.catalog.material(rule.material)
    if role == "base":
        return base_words(work, number, made, size, rule.nailing)
    if role == "ply":
        return ply_words(number, made, size, primed=bool(rule.primer))
    return cap_words(site, number, size, mistake=mistake, check=check)


def bed_words(number: int, made: Material, size: str, why: str) -> DetailLayer:
    """Return the words of a bed of cement."""
    return describe(
        number,
        made,
        size,
        "trowelled on, no skips",
        why,
        tool="notched trowel",
        gear="nitrile gloves, fresh air, no flame",
        mistake="Dabs in place of a bed, or so much that it softens the sheet.",
        check="A thin bead of it squeezes out along the whole edge.",
    )
