"""Where things go on the sheet: areas and letters, by its size and the style."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.render.detail_view.look import Look, Style

Area = tuple[float, float, float, float]
"""Left, top, right, bottom, pixels."""
_SPLIT = 0.655
"""Share of the width that the layers have; legend and section have the rest."""
_GROWN = 1.3
"""How much larger the letters of a section are that has the sheet alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Areas of a sheet and sizes of its letters, pixels.

    Attributes
    ----------
    unit : float
        One pixel of a sheet of 1600 by 1200: the layout grows with the sheet.
    title, name, note : float
        Font sizes.
    section_note : float
        Font size on the section.
    figure : Area
        For the layers in space.
    panel : Area or None
        A tinted strip under legend and section.
    legend, section, cautions : Area
    notes : Area or None
        Where the notes stand; None where a corner of bare paper is looked for.
    """

    unit: float
    title: float
    name: float
    note: float
    section_note: float
    figure: Area
    panel: Area | None
    legend: Area
    section: Area
    cautions: Area
    notes: Area | None = None


def plan_sheet(size: tuple[int, int], look: Look) -> Plan:
    """Return the plan of a sheet of a size, pixels, in the style of a look."""
    w, h = size
    unit = min(w / 1600.0, h / 1200.0)
    alone = look.style is Style.SECTION
    left = w if alone else _SPLIT * w
    edge = 36 * unit
    if look.plain:
        whole = (edge, edge, w - edge, h - edge)
        figure, section, panel = whole, whole, None
        legend = cautions = whole
    elif alone:
        figure = section = (edge, 140 * unit, w - edge, h - 300 * unit)
        panel = (0.0, h - 284 * unit, float(w), float(h))
        legend = (edge, h - 264 * unit, w - edge, h - 96 * unit)
        cautions = (edge, h - 84 * unit, w - edge, h - 10 * unit)
    else:
        figure = (edge, 128 * unit, left - 20 * unit, h - 104 * unit)
        panel = (left, 0.0, float(w), float(h))
        legend = (left + 24 * unit, 36 * unit, w - 24 * unit, h - 438 * unit)
        section = (left + 16 * unit, h - 388 * unit, w - 16 * unit, h - 8 * unit)
        cautions = (edge, h - 88 * unit, left - 24 * unit, h - 10 * unit)
    return Plan(
        unit=unit,
        title=34.0 * unit,
        name=18.0 * unit,
        note=15.0 * unit,
        section_note=15.0 * unit * (_GROWN if alone else 0.93),
        figure=figure,
        panel=panel,
        legend=legend,
        section=section,
        cautions=cautions,
    )
