"""The section of a joint for a handout: the cut with its numbers and lengths, no other words."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from roof3d.details.model import Detail
from roof3d.project import Project
from roof3d.render.detail_ink.palette import LIGHT
from roof3d.render.detail_section.section import ink_section
from roof3d.render.detail_view.look import Look, Style
from roof3d.render.explode_picture import set_picture
from roof3d.render.lesson_pictures.contact import trim_alike
from roof3d.render.sheet import Sheet

_SIZE = (1600, 1200)


def draw_section_figure(project: Project, detail: Detail) -> NDArray[np.uint8]:
    """Draw the section of a detail of a project, cut to what is drawn: (h, w, 3)."""
    picture = set_picture(project, detail.id, _SIZE, Look(style=Style.SECTION))
    sheet = Sheet(_SIZE, LIGHT.paper)
    if picture.section is not None:
        sizes = (picture.plan.section_note, picture.plan.unit)
        ink_section(sheet, picture.detail, picture.section, picture.tones, sizes)
    return trim_alike([sheet.pixels()])[0]
