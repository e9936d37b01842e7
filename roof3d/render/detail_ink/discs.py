"""Numbers in discs, with their leaders, inked."""

from __future__ import annotations

from collections.abc import Sequence

from roof3d.render.detail_ink.markers import Marker
from roof3d.render.detail_ink.palette import LIGHT, Theme
from roof3d.render.sheet import Pixel, Sheet


def ink_marker(
    sheet: Sheet,
    number: int,
    centre: Pixel,
    radius: float,
    *,
    order: float = 9.0,
    theme: Theme = LIGHT,
) -> None:
    """Ink a number in a disc."""
    sheet.disc(centre, radius, fill=theme.ink, ink=theme.paper, width=radius / 8.0, order=order)
    sheet.text(
        centre,
        str(number),
        size=1.15 * radius,
        ink=theme.paper,
        bold=True,
        across="center",
        order=order + 0.1,
    )


def ink_markers(
    sheet: Sheet, markers: Sequence[Marker], weight: float, *, theme: Theme = LIGHT
) -> None:
    """Ink markers with leaders, a dot at each anchor."""
    for marker in markers:
        if marker.leader:
            sheet.lines([marker.leader], width=3.0 * weight, ink=theme.paper, alpha=0.85, order=7.0)
            sheet.lines([marker.leader], width=1.1 * weight, ink=theme.ink, order=7.1)
            sheet.disc(
                marker.anchor,
                3.6 * weight,
                fill=theme.ink,
                ink=theme.paper,
                width=1.2 * weight,
                order=7.2,
            )
        ink_marker(sheet, marker.number, marker.centre, marker.radius, theme=theme)
