"""Build the detail of a place: one table from kind to the function that lays its layers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from roof3d.details.model import Detail, DetailKind
from roof3d.details.site import DetailSite, Place
from roof3d.details.transitions.transition import build_transition

BUILDERS: Final[dict[DetailKind, Callable[[DetailSite], Detail]]] = {
    DetailKind.LOW_BELOW_STEEP: build_transition,
    DetailKind.LOW_ABOVE_STEEP: build_transition,
}
"""A new detail is one module and one line here."""


def offered(places: Sequence[Place]) -> tuple[Place, ...]:
    """Return the places whose detail can be built."""
    return tuple(place for place in places if place.kind in BUILDERS)


def build_detail(site: DetailSite) -> Detail:
    """Build the layers of a place where they lie on the roof.

    Parameters
    ----------
    site : DetailSite
        Its place is one of those ``offered``.

    Returns
    -------
    Detail
        In the roof's own coordinates; lengths on the slopes are true whatever the drawn
        thickness, each upper piece lies on what is below it without dipping into it.

    Raises
    ------
    LayoutError
        Where what lies on its planes is not what the detail is drawn for.
    """
    return BUILDERS[site.place.kind](site)
