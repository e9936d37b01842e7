"""How the panel is shared: by what the words take, so that the section has all the rest."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from roof3d.details.model import Detail
from roof3d.render.detail_ink.legend import set_legend, set_names
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.detail_view.plan import Plan
from roof3d.render.detail_view.words import (
    legend_sizes,
    names_columns,
    write_notes,
)

_HEADING = 48.0
"""Over a section beside the legend, at 1200 px."""
_LINES_ABOUT = 13.0
"""Heights of the letters that lengths and numbers take above and below a section."""
_NOTES_SHARE = 0.27


def share_panel(
    plan: Plan,
    size: tuple[int, int],
    look: Look,
    detail: Detail,
    span: tuple[float, float],
    cut: Collection[int],
    hidden: Collection[int] = (),
) -> Plan:
    """Return the plan with the panel as high as its words, the drawing in what is left.

    Parameters
    ----------
    span : tuple[float, float]
        Width and height of what the section shows, metres.
    cut : collection of int
        Layers that it shows.
    hidden : collection of int
        Layers that the drawing in space does not show.
    """
    if look.plain:
        return plan
    if look.style is Style.SECTION:
        return _under(plan, size, detail, cut)
    left, top, right, bottom = plan.legend
    x, above, across, foot = plan.section
    boxes = set_legend(detail, plan.legend, legend_sizes(plan), {}, None, hidden=hidden)
    used = max(corner[1] for box in boxes for corner in box.corners)
    free = max(used + (_HEADING + 10.0) * plan.unit, 0.0)
    wanted = (across - x) / span[0] * span[1] + _LINES_ABOUT * plan.section_note
    head = min(above, max(free, foot - wanted))
    return replace(
        plan,
        legend=(left, top, right, max(bottom, head - (_HEADING + 10.0) * plan.unit)),
        section=(x, head, across, foot),
    )


def _under(plan: Plan, size: tuple[int, int], detail: Detail, cut: Collection[int]) -> Plan:
    """Share a panel under the section: names in columns, notes at the right of them."""
    width, height = size
    left, _, right, _ = plan.legend
    unit = plan.unit
    split = right - _NOTES_SHARE * width if detail.notes else right
    names = (left, 0.0, split - 24.0 * unit, 0.0)
    columns = names_columns(detail)
    boxes = [*set_names(detail, names, legend_sizes(plan), {}, cut=cut, columns=columns)]
    if detail.notes:
        notes = (split, 0.0, right, 0.0)
        boxes += write_notes(None, detail, plan, len(detail.notes), notes, hung=True)
    deep = max(corner[1] for box in boxes for corner in box.corners)
    foot = plan.cautions[1] - 12.0 * unit
    head = foot - deep - 22.0 * unit
    low = head - 16.0 * unit
    return replace(
        plan,
        panel=(0.0, head, float(width), float(height)),
        legend=(left, head + 20.0 * unit, names[2], foot),
        notes=(split, head + 20.0 * unit, right, foot) if detail.notes else None,
        figure=(*plan.figure[:3], low),
        section=(*plan.section[:3], low),
    )
