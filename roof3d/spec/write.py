"""Write a spec as a model file that reads back to that spec."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final

from roof3d.spec.model import (
    EdgeSpec,
    Form,
    LayoutSpec,
    OpeningKind,
    OpeningSpec,
    OutlineSpec,
    ParapetSpec,
    RoofSpec,
    RuleSpec,
    SectionSpec,
    SiteSpec,
    Zones,
)
from roof3d.spec.parapets.sides import side_names

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
        what is then written again is the same text. A catalog is written by its name:
        the file has to lie there still.
    """
    parts = [
        _head(spec),
        _rules(spec.rules),
        _site(spec.site),
        _layout(spec.layout),
        *(_section(section) for section in spec.sections),
        *(_opening(opening) for opening in spec.openings),
        *(
            f"[[plane]]\nid = {_text(plane.id)}\nassembly = {_text(plane.assembly)}"
            for plane in spec.planes
        ),
    ]
    return "\n\n".join(parts) + "\n"


def _head(spec: RoofSpec) -> str:
    lines = [
        f"schema = {spec.version}",
        f"name = {_text(spec.name)}",
        f"units = {_text(spec.units)}",
    ]
    if spec.catalog is not None:
        lines.append(f"catalog = {_text(spec.catalog.name)}")
    return "\n".join(lines)


def _rules(rules: RuleSpec) -> str:
    lines = ["[rules]", f"low_slope_cutoff = {_pitch(rules.low_slope_cutoff)}"]
    if rules.low_assembly:
        lines.append(f"low_assembly = {_text(rules.low_assembly)}")
    if rules.steep_assembly:
        lines.append(f"steep_assembly = {_text(rules.steep_assembly)}")
    return "\n".join(lines)


def _site(site: SiteSpec) -> str:
    zones = _length(site.zone_width) if site.zones is Zones.GIVEN else _text(site.zones)
    lines = [
        "[site]",
        f"ice_barrier = {_flag(site.ice_barrier)}",
        f"code = {_text(site.code)}",
        f"wind = {_text(site.wind)}",
        f"zones = {zones}",
    ]
    if site.temperature is not None:
        lines.insert(1, f'temperature = "{_digits(site.temperature)} C"')
    return "\n".join(lines)


def _layout(layout: LayoutSpec) -> str:
    return "\n".join(
        [
            "[layout]",
            f"valley = {_text(layout.valley)}",
            f"membrane_rise = {_text(layout.membrane_rise)}",
            *([] if layout.even_laps is None else [f"even_laps = {_flag(layout.even_laps)}"]),
            f"ridge_vent = {_flag(layout.ridge_vent)}",
            f"rake_starter = {_flag(layout.rake_starter)}",
        ]
    )


def _section(section: SectionSpec) -> str:
    if section.outline is not None:
        return _outline_section(section, section.outline)
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
    return "\n".join([*lines, *_after_heights(section, rake)])


def _outline_section(section: SectionSpec, outline: OutlineSpec) -> str:
    lines = [
        "[[section]]",
        f"id = {_text(section.id)}",
        f"form = {_text(section.form)}",
        f"at = {_pair(section.at)}",
        f"turn = {_angle(section.turn)}",
        f"outline = {_corners(outline.rings[0])}",
    ]
    if outline.rings[1:]:
        courtyards = ",\n".join(_corners(ring) for ring in outline.rings[1:])
        lines.append(f"courtyard = [\n{courtyards},\n]")
    lines += [f"eave = {_length(section.eave)}", f"pitch = {_pitch(section.pitch)}"]
    edges = [
        _edge(edge, at, ring, one_plane=outline.fall is not None)
        for ring, row in enumerate(outline.edges)
        for at, edge in enumerate(row)
        if outline.fall is not None or edge != _plain_edge(section)
    ]
    if edges:
        lines.append(f"edge = [\n{''.join(edges)}]")
    if outline.fall is not None:
        lines.append(f"fall = {outline.fall}")
    if outline.deck is not None:
        lines += [
            f"deck = {_length(outline.deck)}",
            f"deck_pitch = {_pitch(outline.deck_pitch)}",
        ]
    rake = f", rake = {_length(section.overhang.rake)}"
    return "\n".join([*lines, *_after_heights(section, rake)])


def _corners(ring: Sequence[tuple[float, float]]) -> str:
    return "[\n" + "".join(f"  {_pair(corner)},\n" for corner in ring) + "]"


def _plain_edge(section: SectionSpec) -> EdgeSpec:
    """Return what an edge without a table of its own becomes."""
    return EdgeSpec(
        pitch=section.pitch,
        eave=section.eave,
        overhang=section.overhang.eave,
        hip_from=None,
        hip_pitch=0.0,
        gable_from=None,
    )


def _edge(edge: EdgeSpec, at: int, ring: int, *, one_plane: bool) -> str:
    """Write an edge with all that it is, so that nothing hangs on what gives way."""
    words = [f"at = {at}"]
    if ring:
        words.insert(0, f"courtyard = {ring - 1}")
    if math.isinf(edge.pitch):
        words += [] if one_plane else ["gable = true"]
        if edge.hip_from is not None:
            words += [f"hip_from = {_length(edge.hip_from)}", f"pitch = {_pitch(edge.hip_pitch)}"]
    elif not one_plane:
        words += [f"pitch = {_pitch(edge.pitch)}", f"eave = {_length(edge.eave)}"]
        if edge.gable_from is not None:
            words.append(f"gable_from = {_length(edge.gable_from)}")
    words.append(f"overhang = {_length(edge.overhang)}")
    return f"  {{ {', '.join(words)} }},\n"


def _after_heights(section: SectionSpec, rake: str) -> list[str]:
    lines = [
        f"overhang = {{ eave = {_length(section.overhang.eave)}{rake} }}",
        f"base = {_length(section.base)}",
        f"open = {_flag(section.open)}",
    ]
    if section.assembly:
        lines.append(f"assembly = {_text(section.assembly)}")
    if section.parapet is not None:
        lines.append(_parapet(section, section.parapet))
    return lines


def _parapet(section: SectionSpec, parapet: ParapetSpec) -> str:
    words = [f"height = {_length(parapet.height)}", f"thickness = {_length(parapet.thickness)}"]
    if parapet.sides is not None:
        winds = side_names(section.turn) if section.outline is None else ()
        names = [_text(winds[side]) if winds else str(side) for side in parapet.sides]
        words.append(f"sides = [{', '.join(names)}]")
    return f"parapet = {{ {', '.join(words)} }}"


def _opening(opening: OpeningSpec) -> str:
    match opening.kind:
        case OpeningKind.PIPE | OpeningKind.DRAIN:
            size = f"diameter = {_length(opening.size[0])}"
        case OpeningKind.SCUPPER:
            size = f"width = {_length(opening.size[0])}"
        case OpeningKind.CHIMNEY | OpeningKind.SKYLIGHT:
            size = f"size = {_pair(opening.size)}"
    outlet = opening.kind in {OpeningKind.DRAIN, OpeningKind.SCUPPER}
    sill = f"overflow = {_flag(opening.overflow)}\nsill = {_length(opening.sill)}"
    return "\n".join(
        [
            "[[opening]]",
            f"id = {_text(opening.id)}",
            f"kind = {_text(opening.kind)}",
            f"at = {_pair(opening.at)}",
            size,
            f"turn = {_angle(opening.turn)}",
            f"height = {_length(opening.height)}",
            *([f"sump = {_length(opening.sump)}"] if opening.sump else []),
            *([sill] if outlet else []),
        ]
    )


def _flag(value: bool) -> str:  # noqa: FBT001 - a value to write, not a switch
    return str(value).lower()


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
