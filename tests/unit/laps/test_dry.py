"""Under shingles sheets keep the deck dry: at the feet and peaks of valleys too."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from roof3d.laps.model import PieceKind
from roof3d.project import Project, build
from roof3d.roof.build import build_roof
from roof3d.spec.model import PlaneSpec
from roof3d.spec.read import parse_spec
from tests.unit.laps.wrong_builds import CATALOG, INCH, builds_of, project_of
from tests.unit.layout.borders.test_sides import CROSSING

ICE = "[site]\nice_barrier = true\n"
#: What the corner of a cut may leave open, m2.
SPOT = (2.0 * INCH) ** 2


def _crossing(site: str) -> Project:
    """Build a gable with a wing of membrane: two valleys that rise from its eave to one peak."""
    spec = parse_spec(CROSSING.replace("[[section]]", site + "[[section]]", 1))
    wishes = tuple(
        PlaneSpec(
            id=plane.id,
            assembly="self-adhered-membrane" if plane.section == "w" else "laminated-shingle",
        )
        for plane in build_roof(spec)[0].planes
    )
    return build(replace(spec, planes=wishes))


def _open_deck(project: Project) -> dict[str, float]:
    """Return the area of each plane of shingles that no sheet or metal covers, m2."""
    return {
        name: shapely.difference(
            build_.surface.faces[0].region,
            shapely.union_all([p.shape for p in build_.pieces if p.kind is not PieceKind.SHINGLE]),
            grid_size=1e-6,
        ).area
        for name, build_ in builds_of(project).items()
        if CATALOG.assembly(project.assembly_of(name)).kind == "shingle"
    }


@pytest.mark.parametrize("site", ["", ICE])
def test_joints_in_valleys_leave_no_deck_open(site: str) -> None:
    """Neither beside the membrane at the eave nor between the two membranes at the peak."""
    assert max(_open_deck(_crossing(site)).values()) < SPOT


def test_lined_valleys_leave_no_deck_open_at_their_peak() -> None:
    """The dormer of the shipped corner house: its two valleys meet on the long wing."""
    assert max(_open_deck(project_of("plum-corner")).values()) < SPOT
