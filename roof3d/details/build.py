"""Build the detail of a place: one table from kind to the function that lays its layers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from roof3d.details.curbs.chimney_membrane import build_membrane_chimney
from roof3d.details.curbs.drain import build_drain
from roof3d.details.curbs.parapet import build_parapet
from roof3d.details.curbs.scupper import build_scupper
from roof3d.details.membrane.cap_lap import build_cap_lap
from roof3d.details.membrane.corner import build_membrane_corner
from roof3d.details.membrane.edge import build_membrane_eave, build_membrane_rake
from roof3d.details.membrane.wall import build_membrane_wall
from roof3d.details.mistakes.model import Mistake, WrongBuild
from roof3d.details.model import Detail, DetailKind
from roof3d.details.proof.model import DetailFault
from roof3d.details.proof.prove import prove_detail
from roof3d.details.ridges.ridge import build_ridge
from roof3d.details.shingle.eave import build_shingle_eave
from roof3d.details.shingle.headwall import build_shingle_headwall
from roof3d.details.shingle.openings.chimney import build_chimney
from roof3d.details.shingle.openings.pipe_membrane import build_membrane_pipe
from roof3d.details.shingle.openings.pipe_shingle import build_shingle_pipe
from roof3d.details.shingle.pitch_break import build_pitch_break
from roof3d.details.shingle.rake import build_shingle_rake
from roof3d.details.shingle.sidewall import build_shingle_sidewall
from roof3d.details.site import DetailSite, Place
from roof3d.details.transitions.transition import build_transition
from roof3d.details.valleys.closed_valley import build_closed_valley
from roof3d.details.valleys.joint_valley import build_joint_valley
from roof3d.details.valleys.open_valley import build_open_valley
from roof3d.errors import LayoutError

BUILDERS: Final[dict[DetailKind, Callable[[DetailSite], Detail]]] = {
    DetailKind.LOW_BELOW_STEEP: build_transition,
    DetailKind.LOW_ABOVE_STEEP: build_transition,
    DetailKind.EAVE_MEMBRANE: build_membrane_eave,
    DetailKind.RAKE_MEMBRANE: build_membrane_rake,
    DetailKind.CAP_LAP: build_cap_lap,
    DetailKind.CORNER: build_membrane_corner,
    DetailKind.HEADWALL_MEMBRANE: build_membrane_wall,
    DetailKind.SIDEWALL_MEMBRANE: build_membrane_wall,
    DetailKind.EAVE_SHINGLE: build_shingle_eave,
    DetailKind.RAKE_SHINGLE: build_shingle_rake,
    DetailKind.HEADWALL_SHINGLE: build_shingle_headwall,
    DetailKind.SIDEWALL_SHINGLE: build_shingle_sidewall,
    DetailKind.PITCH_BREAK: build_pitch_break,
    DetailKind.PIPE_SHINGLE: build_shingle_pipe,
    DetailKind.PIPE_MEMBRANE: build_membrane_pipe,
    DetailKind.CHIMNEY: build_chimney,
    DetailKind.CHIMNEY_MEMBRANE: build_membrane_chimney,
    DetailKind.PARAPET: build_parapet,
    DetailKind.DRAIN: build_drain,
    DetailKind.SCUPPER: build_scupper,
    DetailKind.VALLEY_OPEN: build_open_valley,
    DetailKind.VALLEY_CLOSED: build_closed_valley,
    DetailKind.VALLEY_JOINT: build_joint_valley,
    DetailKind.HIP: build_ridge,
    DetailKind.RIDGE: build_ridge,
    DetailKind.RIDGE_VENTED: build_ridge,
}
"""A new detail is one module and one line here."""


def offered(places: Sequence[Place]) -> tuple[Place, ...]:
    """Return the places whose detail can be built."""
    return tuple(place for place in places if place.kind in BUILDERS)


def build_detail(site: DetailSite, mistake: Mistake | None = None) -> Detail:
    """Build the layers of a place where they lie on the roof.

    Parameters
    ----------
    site : DetailSite
        Its place is one of those ``offered``.
    mistake : Mistake or None
        Built wrong on purpose, so that it can be shown: the same pieces, laid as the mistake
        has it.

    Returns
    -------
    Detail
        In the roof's own coordinates; lengths on the slopes are true whatever the drawn
        thickness, each upper piece lies on what is below it without dipping into it.

    Raises
    ------
    LayoutError
        Where what lies on its planes is not what the detail is drawn for, or the mistake
        cannot be made here.
    """
    if mistake is None:
        return BUILDERS[site.place.kind](site)
    return build_wrong(site, mistake)[0]


def build_wrong(site: DetailSite, mistake: Mistake) -> tuple[Detail, tuple[DetailFault, ...]]:
    """Build a place wrong on purpose, with all that the proof finds; see ``build_detail``.

    Raises
    ------
    LayoutError
        As ``build_detail``.
    """
    detail = BUILDERS[site.place.kind](replace(site, mistake=mistake))
    faults = prove_detail(detail, site.catalog)
    expected = detail.mistake.expected if detail.mistake else None
    if not any(fault.kind is expected for fault in faults):
        raise LayoutError(
            f"{mistake} does no harm at this {site.place.kind}",
            where=site.place.id,
            hint="take another mistake",
        )
    return detail, faults


def offered_mistakes(site: DetailSite) -> tuple[WrongBuild, ...]:
    """Return the mistakes that a place can be built with, each proved wrong."""
    listed = BUILDERS[site.place.kind](replace(site, list_mistakes=True)).mistakes
    found = []
    for wrong in listed:
        try:
            build_detail(site, wrong.mistake)
        except LayoutError:
            continue
        found.append(wrong)
    return tuple(found)
