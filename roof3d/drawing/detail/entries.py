"""What is said beside a drawing of a detail: legend, notes, cautions, title."""

from __future__ import annotations

from collections.abc import Collection

from roof3d.details.model import INCH, Detail, PieceKind, size_text
from roof3d.drawing.hatches import hatch_of_layer
from roof3d.drawing.sheet.title import Heading
from roof3d.drawing.sheet.words import Entry
from roof3d.project import Project
from roof3d.rules.cautions import cautions_for
from roof3d.units import Units

_AT = {
    "low": "the break",
    "pitch": "the change of pitch",
    "cap": "the lap",
    "headwall": "the wall",
    "sidewall": "the wall",
}
"""What a drawing is of, by the first word of the kind; else that word itself."""


def units_of(project: Project) -> Units:
    """Return the units that the model is shown in."""
    return Units(project.spec.units.value)


def line_words(detail: Detail) -> str:
    """Name the line of a detail."""
    word = detail.kind.value.split("-")[0]
    return _AT.get(word, f"the {word}")


def legend_of(
    detail: Detail, unseen: Collection[int], where: str, *, widened: float = 1.0
) -> tuple[Entry, ...]:
    """Return one entry a layer, from the bottom up; those not drawn say so."""
    rows = []
    for layer in detail.layers:
        words = layer.size[:1].upper() + layer.size[1:]
        if layer.material and layer.material.replace("-", " ") not in layer.name.lower():
            words = f"{words} ({layer.material.replace('-', ' ')})"
        if layer.number in unseen:
            words = f"{words}. {where}"
        own = any(
            p.layer == layer.number and p.kind not in {PieceKind.FRAMING, PieceKind.FASTENER}
            for p in detail.pieces
        )
        rows.append(
            Entry(
                heading=layer.name,
                words=words,
                number=str(layer.number),
                hatch=hatch_of_layer(detail, layer.number).widened(widened) if own else None,
            )
        )
    return (Entry(heading="Layers, from the bottom up", opens=True), *rows)


def notes_of(detail: Detail, project: Project) -> tuple[Entry, ...]:
    """Return what else must be known, and the cautions."""
    choices = [choice for choice in project.choices if choice.plane in detail.planes]
    cautions = cautions_for(choices, project.catalog)
    notes = tuple(Entry(words=note) for note in detail.notes)
    head = (Entry(heading="Notes", opens=True),) if notes else ()
    return (
        *head,
        *notes,
        Entry(heading="Cautions", opens=True),
        *(Entry(words=words) for words in cautions),
    )


def heading_of(detail: Detail, project: Project, view: str, lines: tuple[str, ...]) -> Heading:
    """Return what the title block says."""
    return Heading(
        title=detail.name,
        view=view,
        job=project.spec.name,
        place=detail.id,
        lines=(f"{detail.summary}.", *lines),
    )


def thickness_line(detail: Detail, units: Units) -> str:
    """Say how thickness is drawn."""
    factor, least = detail.thickness
    if factor == 1.0 and least == 0.0:
        return "Lengths and thicknesses true."
    floor = f", at least {size_text(least, units)}" if least > INCH / 100.0 else ""
    return f"Lengths true; all but wood drawn {factor:g} times as thick{floor}."
