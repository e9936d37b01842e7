"""A commented model file over one building outline."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from roof3d.errors import Fault, ReadError, SpecError
from roof3d.readers.building import BuildingOutline
from roof3d.spec.read import parse_spec
from roof3d.units import Units, format_area, format_length

Millimetres: TypeAlias = tuple[int, int]

_LONGEST_NAME: Final = 120
_OPTIONS: Final = ("pitch", "eave", "overhang")


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstRoof:
    """What lies on an outline until its model says more; measures as a model file has them."""

    units: Units
    pitch: str
    eave: str
    overhang: str
    gable_ends: bool


def outline_model(outline: BuildingOutline, roof: FirstRoof, *, source: str) -> str:
    """Write a model with one section of the form ``outline``.

    Parameters
    ----------
    outline : BuildingOutline
    roof : FirstRoof
    source : str
        Name of the file it came from.

    Returns
    -------
    str
        TOML that ``parse_spec`` reads without fault; corners to the millimetre from the
        south-west corner of their box.

    Raises
    ------
    ReadError
        If the outline cannot be roofed.
    SpecError
        If a measure of ``roof`` is wrong.
    """
    where = f'{source}: outline "{outline.id}"'
    if outline.problems:
        raise ReadError(outline.problems[0], where=where, hint="mend it where it was drawn")
    rings, zero = _moved(outline.rings)
    gables = _ends(rings, where) if roof.gable_ends else ()
    text = "\n".join(
        [
            *_head(outline, zero, source),
            "schema = 1",
            f"name = {_quoted((outline.name or f'Outline {outline.id}')[:_LONGEST_NAME])}",
            f"units = {_quoted(roof.units)}  # how results are shown",
            "",
            "[[section]]",
            'id = "main"',
            'form = "outline"',
            f"eave = {_quoted(roof.eave)}  # height of the roof above the wall face",
            f"pitch = {_quoted(roof.pitch)}",
            f"overhang = {_quoted(roof.overhang)}",
            *_edges(gables),
            *_corners(rings, roof.units),
            "",
        ]
    )
    _require_sound(text, where)
    return text


def _moved(
    rings: Sequence[Sequence[tuple[float, float]]],
) -> tuple[list[list[Millimetres]], Millimetres]:
    """Return rings in millimetres from the south-west corner of their box, and that corner."""
    whole = [[(round(x * 1000.0), round(y * 1000.0)) for x, y in ring] for ring in rings]
    zero = (min(x for x, _ in whole[0]), min(y for _, y in whole[0]))
    moved = [[(x - zero[0], y - zero[1]) for x, y in ring] for ring in whole]
    return [
        [corner for at, corner in enumerate(ring) if corner != ring[at - 1]] for ring in moved
    ], zero


def _ends(rings: Sequence[Sequence[Millimetres]], where: str) -> tuple[int, int]:
    """Return the two short edges of a four-cornered outline."""
    if len(rings) > 1 or len(rings[0]) != 4:
        count = sum(len(ring) for ring in rings)
        raise ReadError(
            f"has {count} corners, so which of its edges are gable ends is not guessed",
            where=where,
            hint="leave --gable-ends out and write the gables into the model's edge list",
        )
    ring = rings[0]
    lengths = [math.dist(ring[at], ring[(at + 1) % 4]) for at in range(4)]
    return (0, 2) if lengths[0] + lengths[2] < lengths[1] + lengths[3] else (1, 3)


def _head(outline: BuildingOutline, zero: Millimetres, source: str) -> list[str]:
    x, y = (f"{value / 1000.0:.3f}" for value in zero)
    if outline.origin is not None:
        longitude, latitude = outline.origin
        place = (
            f"# Degrees ({outline.crs}) laid flat about longitude {longitude:.7f}, latitude "
            f"{latitude:.7f};\n# the zero here lies ({x} m east, {y} m north) of there."
        )
    else:
        named = f" of {outline.crs}" if outline.crs else ""
        place = f"# Coordinates{named}\n# taken for metres; the zero here is ({x}, {y}) there."
    area = format_area(outline.plan_area, Units.METRIC)
    return [
        f"# Outline {outline.id} of {_printable(source)}:",
        f"# {outline.corners} corners, {area} in plan.",
        place,
        *(f"# Put right in reading: {repair}." for repair in outline.repairs),
        "#",
        "# The eave, pitch and overhang are a first guess for every edge: set them to the house.",
    ]


def _edges(gables: Sequence[int]) -> list[str]:
    comment = [
        "# An edge runs from its corner to the next, as numbered below. Give one a gable, or a",
        "# pitch, eave or overhang of its own:",
    ]
    if not gables:
        return [*comment, '# edge = [{ at = 0, gable = true }, { at = 1, pitch = "8:12" }]']
    tables = ", ".join(f"{{ at = {at}, gable = true }}" for at in gables)
    return [*comment, f"edge = [{tables}]"]


def _corners(rings: Sequence[Sequence[Millimetres]], units: Units) -> list[str]:
    lines = ["outline = [", *_ring(rings[0], "  ", units), "]"]
    if rings[1:]:
        lines.append("courtyard = [")
        for ring in rings[1:]:
            lines += ["  [", *_ring(ring, "    ", units), "  ],"]
        lines.append("]")
    return lines


def _ring(ring: Sequence[Millimetres], indent: str, units: Units) -> list[str]:
    lines = []
    for at, corner in enumerate(ring):
        following = (at + 1) % len(ring)
        x, y = (_metres(value) for value in corner)
        length = format_length(math.dist(corner, ring[following]) / 1000.0, units)
        lines.append(f'{indent}["{x} m", "{y} m"],  # {at}: {length} to corner {following}')
    return lines


def _metres(millimetres: int) -> str:
    whole, rest = divmod(abs(millimetres), 1000)
    return f"{'-' if millimetres < 0 else ''}{whole}.{rest:03d}"


def _require_sound(text: str, where: str) -> None:
    """Read the model back; say what is wrong in the words of who asked for it."""
    try:
        parse_spec(text, where)
    except SpecError as error:
        asked = [
            Fault(where=f"--{key}", message=fault.message, hint=fault.hint)
            for fault in error.faults
            for key in _OPTIONS
            if fault.where.endswith(f".{key}")
        ]
        if asked:
            raise SpecError(tuple(asked), source="command line") from error
        fault = error.faults[0]
        raise ReadError(
            f"cannot be roofed: {fault.where.rpartition('.')[2]}: {fault.message}",
            where=where,
            hint=fault.hint or "mend it where it was drawn",
        ) from error


def _quoted(text: str) -> str:
    """Write text as a TOML string, whose escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False)


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
