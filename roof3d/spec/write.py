"""Write a spec as a model file that reads back to that spec."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Final

from roof3d.spec.model import Form, OpeningKind, OpeningSpec, RoofSpec, SectionSpec

_LARGEST_RUN: Final = 10_000
_BROKEN: Final = frozenset({Form.GAMBREL, Form.MANSARD})


def format_spec(spec: RoofSpec) -> str:
    """Write a spec as TOML, in metres, each number with all its digits.

    Parameters
    ----------
    spec : RoofSpec

    Returns
    -------
    str
        ``parse_spec`` gives back an equal spec, but for the last bits of a ridge;
        what is then written again is the same text.
    """
    parts = [
        f"schema = {spec.version}\nname = {_text(spec.name)}\nunits = {_text(spec.units)}",
        f"[rules]\nlow_slope_cutoff = {_pitch(spec.rules.low_slope_cutoff)}",
        *(_section(section) for section in spec.sections),
        *(_opening(opening) for opening in spec.openings),
        *(
            f"[[plane]]\nid = {_text(plane.id)}\nassembly = {_text(plane.assembly)}"
            for plane in spec.planes
        ),
    ]
    return "\n\n".join(parts) + "\n"


def _section(section: SectionSpec) -> str:
    four_ways = section.form in {Form.HIP, Form.MANSARD}
    rake = "" if four_ways else f", rake = {_length(section.overhang.rake)}"
    lines = [
        "[[section]]",
        f"id = {_text(section.id)}",
        f"form = {_text(section.form)}",
        f"length = {_length(section.length)}",
        f"width = {_length(section.width)}",
        f"at = {_pair(section.at)}",
        f"turn = {_angle(section.turn)}",
        f"eave = {_length(section.eave)}",
        f"pitch = {_pitch(section.pitch)}",
    ]
    if section.pitch_back != section.pitch:
        lines.append(f"pitch_back = {_pitch(section.pitch_back)}")
    if section.form in _BROKEN:
        lines += [
            f"lower_pitch = {_pitch(section.lower_pitch)}",
            f"break_in = {_length(section.break_in)}",
        ]
    lines += [
        f"overhang = {{ eave = {_length(section.overhang.eave)}{rake} }}",
        f"base = {_length(section.base)}",
        f"open = {str(section.open).lower()}",
    ]
    if section.assembly:
        lines.append(f"assembly = {_text(section.assembly)}")
    return "\n".join(lines)


def _opening(opening: OpeningSpec) -> str:
    pipe = opening.kind is OpeningKind.PIPE
    size = f"diameter = {_length(opening.size[0])}" if pipe else f"size = {_pair(opening.size)}"
    return "\n".join(
        [
            "[[opening]]",
            f"id = {_text(opening.id)}",
            f"kind = {_text(opening.kind)}",
            f"at = {_pair(opening.at)}",
            size,
            f"turn = {_angle(opening.turn)}",
            f"height = {_length(opening.height)}",
        ]
    )


def _text(words: str) -> str:
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _length(metres: float) -> str:
    return f'"{_digits(metres)} m"'


def _pair(lengths: tuple[float, float]) -> str:
    return f"[{_length(lengths[0])}, {_length(lengths[1])}]"


def _pitch(slope: float) -> str:
    ratio = Fraction(slope).limit_denominator(_LARGEST_RUN)
    if float(ratio) == slope:
        return f'"{ratio.numerator}:{ratio.denominator}"'
    return f'"{_digits(slope)}:1"'


def _angle(radians: float) -> str:
    """Write degrees that read back as the same radians where such a number exists."""
    degrees = math.degrees(radians)
    near = (degrees, math.nextafter(degrees, math.inf), math.nextafter(degrees, -math.inf))
    best = min(near, key=lambda candidate: abs(math.radians(candidate) - radians))
    return f'"{_digits(best)} deg"'


def _digits(number: float) -> str:
    """Write the shortest decimals that give the same float, without an exponent."""
    return format(Decimal(repr(number)), "f")
