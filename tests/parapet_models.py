"""Roofs with parapets for tests: sections drawn as text, a parapet put on afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from roof3d.project import Project, build
from roof3d.spec.model import ParapetSpec, RoofSpec
from roof3d.spec.read import parse_spec
from tests.model_text import Block, model_text

CUTOFF = 2 / 12


def with_parapets(
    blocks: Sequence[Block],
    *,
    height: float = 0.6,
    thickness: float = 0.2,
    sides: Sequence[tuple[int, ...] | None] = (None,),
    unit: str = "m",
    tables: str = "",
) -> RoofSpec:
    """Return blocks with a parapet on every one that is flat enough, its sides in turn; metres."""
    spec = parse_spec(model_text(blocks, unit=unit, tables=tables))
    sections = [
        replace(
            section,
            parapet=ParapetSpec(
                height=height, thickness=thickness, sides=sides[number % len(sides)]
            ),
        )
        if max(section.pitch, section.pitch_back, section.lower_pitch) < CUTOFF - 1e-9
        and not section.open
        else section
        for number, section in enumerate(spec.sections)
    ]
    return replace(spec, sections=tuple(sections))


def built_with_parapets(*blocks: Block, **wishes: object) -> Project:
    """Build such a roof."""
    return build(with_parapets(blocks, **wishes))  # type: ignore[arg-type]
