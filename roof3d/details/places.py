"""Which places of a roof have a detail, and how they are called."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from textwrap import fill
from typing import Final

import shapely

from roof3d.catalog.model import Catalog
from roof3d.details.model import INCH, DetailKind
from roof3d.details.site import Place
from roof3d.errors import LayoutError
from roof3d.roof.model import Edge, Kind, Role, Roof, RoofOpening
from roof3d.spec.model import LayoutSpec, OpeningKind, Valley
from roof3d.tolerance import DEFAULT, Tolerance

MEMBRANE = "membrane"
_LEAST: Final = 12.0 * INCH
"""A shorter line is no place of its own: nothing of it could be seen."""
_ASKEW: Final = INCH * INCH
"""A chimney that leaves more than that of its box free, square metres, is not drawn."""
_LONGEST: Final = 60
"""Letters of a wrong name that are shown, and compared with those there are."""
_NEAR, _WIDE = 0.6, 96
"""How alike names are that may have been meant; width of their list, letters."""
_PAIRS = {
    Role.EAVE: (DetailKind.EAVE_MEMBRANE, DetailKind.EAVE_SHINGLE),
    Role.RAKE: (DetailKind.RAKE_MEMBRANE, DetailKind.RAKE_SHINGLE),
    Role.HIGH_EDGE: (DetailKind.EAVE_MEMBRANE, DetailKind.RAKE_SHINGLE),
    Role.HEADWALL: (DetailKind.HEADWALL_MEMBRANE, DetailKind.HEADWALL_SHINGLE),
    Role.SIDEWALL: (DetailKind.SIDEWALL_MEMBRANE, DetailKind.SIDEWALL_SHINGLE),
}
"""Kind of a free or wall edge on a membrane and on shingles."""


def places(
    roof: Roof, catalog: Catalog, assembly_of: Mapping[str, str], wishes: LayoutSpec
) -> tuple[Place, ...]:
    """Return every place of a roof that is a known kind of joint, transitions first.

    Parameters
    ----------
    roof : Roof
    catalog : Catalog
    assembly_of : Mapping[str, str]
        Assembly id by plane id, for every plane.
    wishes : LayoutSpec
        How valleys and ridges are made.
    """
    shingled = {
        plane: catalog.assembly(chosen).kind != MEMBRANE for plane, chosen in assembly_of.items()
    }
    found: list[Place] = []
    for edge in sorted(roof.edges, key=lambda edge: edge.role is not Role.TRANSITION):
        kind = _kind_of(roof, edge, shingled, wishes) if edge.length >= _LEAST else None
        if kind is not None:
            planes = _low_first(roof, edge) if edge.role is Role.TRANSITION else edge.planes
            role = "parapet" if kind is DetailKind.PARAPET else edge.role.value.replace("_", " ")
            words = f"{role} of {' and '.join(edge.planes)}"
            found.append(Place(kind=kind, id=edge.id, planes=planes, words=words, edge=edge.id))
    found += _corners(roof, shingled)
    for opening in roof.openings:
        kind = _kind_of_opening(roof, opening, shingled)
        if kind is not None:
            words = f"{opening.kind.value} in {' and '.join(opening.planes)}"
            found.append(
                Place(
                    kind=kind, id=opening.id, planes=opening.planes, words=words, opening=opening.id
                )
            )
    found += [
        Place(
            kind=DetailKind.SCUPPER,
            id=scupper.id,
            planes=(scupper.plane,),
            words=f"scupper through the parapet on {scupper.edge}",
            edge=scupper.edge,
            opening=scupper.id,
        )
        for scupper in roof.scuppers
        if not shingled[scupper.plane]
    ]
    for plane in roof.planes:
        if not shingled[plane.id]:
            words = f"laps of the top sheet on {plane.id}"
            kind = DetailKind.CAP_LAP
            found.append(Place(kind=kind, id=f"{plane.id}.{kind}", planes=(plane.id,), words=words))
    return tuple(found)


def find_place(known: Sequence[Place], name: str | None, *, where: str) -> Place:
    """Return the place called so: by its id, edge, opening, plane or kind; None for the first.

    Parameters
    ----------
    known : sequence of Place
        Those to choose from.
    name : str or None
    where : str
        Name of the model, for the error.

    Raises
    ------
    LayoutError
        Where there is none of that name, or none at all; the hint says which come near it,
        and lists those there are by kind.
    """
    if not known:
        raise LayoutError(
            "this roof has no joint whose layers can be drawn",
            where=where,
            hint="draw the whole roof instead",
            code="R3D-NO-PLACE",
        )
    if name is None:
        return known[0]
    for names in (
        lambda place: (place.id,),
        lambda place: (place.edge, place.opening),
        lambda place: place.planes,
        lambda place: (place.kind.value,),
    ):
        for place in known:
            if name in names(place):
                return place
    raise LayoutError(
        f"there is no joint {name[:_LONGEST]!r}",
        where=where,
        hint=_those_there_are(known, name),
        code="R3D-UNKNOWN-PLACE",
    )


def _those_there_are(known: Sequence[Place], name: str) -> str:
    """Say which names come near one that is not known, and list the joints by kind."""
    by_kind: dict[str, list[str]] = {}
    for place in known:
        by_kind.setdefault(place.kind.value, []).append(place.id)
    # A joint may be called as its kind is: said once.
    names = list(dict.fromkeys([*(place.id for place in known), *by_kind]))
    near = get_close_matches(name[:_LONGEST], names, n=3, cutoff=_NEAR)
    head = [f"did you mean {' or '.join(near)}?"] if near else []
    wide = max(map(len, by_kind))
    rows = [
        fill(
            ", ".join(ids),
            _WIDE,
            initial_indent=f"{kind:<{wide}}  ",
            subsequent_indent=" " * (wide + 2),
            break_long_words=False,
            break_on_hyphens=False,
        )
        for kind, ids in by_kind.items()
    ]
    return "\n".join([*head, "by kind there are:", *rows])


def _kind_of(
    roof: Roof, edge: Edge, shingled: Mapping[str, bool], wishes: LayoutSpec
) -> DetailKind | None:
    """Return what kind of joint an edge is; None where none is known for what lies there."""
    kinds = {shingled[plane] for plane in edge.planes}
    if edge.parapet is not None:
        return None if shingled[edge.planes[0]] else DetailKind.PARAPET
    if edge.role in _PAIRS:
        return _PAIRS[edge.role][shingled[edge.planes[0]]]
    if edge.role is Role.TRANSITION:
        above = roof.plane(edge.planes[0]).kind is Kind.LOW
        return DetailKind.LOW_ABOVE_STEEP if above else DetailKind.LOW_BELOW_STEEP
    if edge.role is Role.VALLEY and len(kinds) > 1:
        return DetailKind.VALLEY_JOINT
    if kinds != {True}:
        return None
    valley = wishes.valley is Valley.CLOSED_CUT
    return {
        Role.VALLEY: DetailKind.VALLEY_CLOSED if valley else DetailKind.VALLEY_OPEN,
        Role.RIDGE: DetailKind.RIDGE_VENTED if wishes.ridge_vent else DetailKind.RIDGE,
        Role.HIP: DetailKind.HIP,
        Role.PITCH_BREAK: DetailKind.PITCH_BREAK,
    }.get(edge.role)


def _low_first(roof: Roof, edge: Edge) -> tuple[str, ...]:
    return tuple(sorted(edge.planes, key=lambda name: roof.plane(name).kind is not Kind.LOW))


def _kind_of_opening(
    roof: Roof, opening: RoofOpening, shingled: Mapping[str, bool]
) -> DetailKind | None:
    on_shingles = all(shingled[plane] for plane in opening.planes)
    if opening.kind is OpeningKind.PIPE:
        return DetailKind.PIPE_SHINGLE if on_shingles else DetailKind.PIPE_MEMBRANE
    if opening.kind is OpeningKind.DRAIN and not on_shingles and len(opening.planes) == 1:
        return DetailKind.DRAIN
    if opening.kind is OpeningKind.CHIMNEY and stands_square(roof, opening):
        return DetailKind.CHIMNEY if on_shingles else DetailKind.CHIMNEY_MEMBRANE
    return None


def stands_square(roof: Roof, opening: RoofOpening, *, tol: Tolerance = DEFAULT) -> bool:
    """Whether an opening lies on one plane, its sides along the fall and square to it."""
    if len(opening.planes) != 1:
        return False
    plane = roof.plane(opening.planes[0])
    gx, gy = plane.gradient if plane.slope > tol.slope else (0.0, 1.0)
    size = math.hypot(gx, gy)
    along = [(x * gy - y * gx) / size for x, y, *_ in opening.outline]
    up = [(x * gx + y * gy) / size for x, y, *_ in opening.outline]
    square = (max(along) - min(along)) * (max(up) - min(up))
    return bool(square - abs(shapely.Polygon(opening.outline).area) <= _ASKEW)


def _corners(roof: Roof, shingled: Mapping[str, bool]) -> Iterator[Place]:
    """Outside corners of membranes: where an eave and a rake of one plane end together."""
    rakes = [edge for edge in roof.edges if edge.role is Role.RAKE]
    for eave in roof.edges:
        if eave.role is not Role.EAVE or shingled[eave.planes[0]]:
            continue
        for rake in rakes:
            if rake.planes == eave.planes and rake.ends[0] in eave.ends:
                yield Place(
                    kind=DetailKind.CORNER,
                    id=f"{rake.id}.{DetailKind.CORNER}",
                    planes=eave.planes,
                    words=f"corner of {eave.id} and {rake.id}",
                )
