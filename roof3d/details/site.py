"""What a detail is built from, and the first and last step that every detail shares."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from roof3d.catalog.laying import Border, Layer, StripRule
from roof3d.catalog.model import Assembly, Catalog
from roof3d.details.build_up import BuildUp
from roof3d.details.frame import Face, Frame
from roof3d.details.mistakes.model import Mistake
from roof3d.details.mistakes.rewrite import possible, spoil
from roof3d.details.model import (
    INCH,
    PRACTICE,
    Detail,
    DetailKind,
    DetailLayer,
    FaceWords,
    PieceKind,
    size_text,
)
from roof3d.details.options import DetailOptions
from roof3d.errors import LayoutError
from roof3d.layout.model import LaidLayer, LaidPlane, Layout, Side
from roof3d.roof.model import Roof
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units, format_pitch

_NUMBER: Final = r"\d+(?: \d+/\d+|/\d+|\.\d+)?"
_INCHES: Final = re.compile(rf"(?:({_NUMBER}) (to|by) )?\b({_NUMBER}) in\b(?! \d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of a roof that has a detail.

    Attributes
    ----------
    kind : DetailKind
    id : str
        Unique among the places of a roof: the edge's, opening's or plane's id.
    planes : tuple[str, ...]
        Ids of the planes that it lies on; of a transition the low one first.
    edge, opening : str
        Ids; empty where it is none.
    words : str
        For people, in a few words.
    """

    kind: DetailKind
    id: str
    planes: tuple[str, ...]
    words: str
    edge: str = ""
    opening: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DetailSite:
    """A place with the roof around it.

    Attributes
    ----------
    place : Place
    roof : Roof
    layout : Layout
        What is laid there; may be empty, then details set out their courses themselves.
    catalog : Catalog
    assembly_of : Mapping[str, str]
        Assembly id by plane id.
    units : Units
        For words.
    options : DetailOptions
    mistake : Mistake or None
        Built wrong on purpose.
    list_mistakes : bool
        Whether the detail is to tell which mistakes it can be built with.
    """

    place: Place
    roof: Roof
    layout: Layout
    catalog: Catalog
    assembly_of: Mapping[str, str]
    units: Units = Units.IMPERIAL
    options: DetailOptions = field(default_factory=DetailOptions)
    mistake: Mistake | None = None
    list_mistakes: bool = False

    def assembly(self, plane_id: str) -> Assembly:
        """Return what lies on a plane."""
        return self.catalog.assembly(self.assembly_of[plane_id])

    def layers(self, plane_id: str) -> dict[str, Layer]:
        """Return the layers of a plane by role, as its slope asks for them."""
        plane = self.roof.plane(plane_id)
        return {layer.role: layer for layer in self.assembly(plane_id).layers_at(plane.slope)}

    def strip(self, plane_id: str, rule_id: str) -> StripRule | None:
        """Return a rule of strips of a plane's assembly; None where it has none of that id."""
        rules = self.assembly(plane_id).strips
        return next((rule for rule in rules if rule.id == rule_id), None)

    def laid_plane(self, plane_id: str) -> LaidPlane | None:
        """Return a plane as laid out; None where the layout holds it not."""
        return next((laid for laid in self.layout.planes if laid.plane.id == plane_id), None)

    def laid_layer(self, plane_id: str, role: str) -> LaidLayer | None:
        """Return a layer as laid out; None where the layout holds it not."""
        laid = self.laid_plane(plane_id)
        found = () if laid is None else laid.layers
        return next((layer for layer in found if layer.role == role), None)

    def side(self, plane_id: str, border: Border | None = None) -> Side | None:
        """Return the longest side of a plane on this place's edge or opening."""
        laid = self.laid_plane(plane_id)
        name = self.place.edge or self.place.opening
        sides = [
            side
            for side in (() if laid is None else laid.sides)
            if side.edge == name and border in (None, side.border)
        ]
        return max(sides, key=lambda side: math.dist(side.start, side.end), default=None)


def open_build(
    site: DetailSite,
    frame: Frame,
    size: tuple[float, float, float],
    *,
    folded: bool = False,
    tol: Tolerance = DEFAULT,
) -> BuildUp:
    """Return an empty build-up of a site; see ``BuildUp`` for the parameters."""
    return BuildUp(
        frame=frame,
        catalog=site.catalog,
        options=site.options,
        units=site.units,
        size=size,
        folded=folded,
        tol=tol,
    )


def close_build(
    site: DetailSite,
    work: BuildUp,
    *,
    name: str,
    summary: str,
    layers: Sequence[DetailLayer],
    notes: Sequence[str] = (),
    far: str = "",
    near: str = "",
    tol: Tolerance = DEFAULT,
) -> Detail:
    """Put a detail together from what was laid.

    Parameters
    ----------
    name, summary : str
        Title, and the slopes that meet in a few words (``slope_words``).
    layers : sequence of DetailLayer
        Words of every layer; one without a piece in the cut-out is left out.
    notes : sequence of str
        The weightiest first.
    far, near : str
        What a face is where it is no plane of the place: ``wall``, ``fascia``; else empty.
    """
    planes, kind = site.place.planes, site.place.kind
    laid = {piece.layer for piece in work.pieces}
    mistakes = possible(work, kind) if site.list_mistakes else ()
    wrong = None if site.mistake is None else spoil(work, kind, site.mistake)
    if site.mistake is not None and wrong is None:
        raise LayoutError(
            f"{kind} cannot be built with the mistake {site.mistake}",
            where=site.place.id,
            hint=f"{', '.join(one.mistake for one in possible(work, kind))} can be shown here",
        )
    left = laid
    if wrong is not None:
        left = {piece.layer for piece in work.pieces if piece.kind is not PieceKind.FASTENER}
    layers = [_told(layer, site.units) for layer in layers]
    faces = [
        _face(site, work.frame, face, words, plane)
        for face, words, plane in ((Face.NEAR, near, planes[0]), (Face.FAR, far, planes[-1]))
    ]
    return Detail(
        id=site.place.id,
        kind=site.place.kind,
        name=name,
        summary=summary,
        planes=planes,
        faces=(faces[0], faces[1]),
        frame=work.frame,
        size=work.size,
        layers=tuple(layer for layer in layers if layer.number in left),
        pieces=work.finished(),
        measures=tuple(work.measures),
        notes=(*_slope_note(work.frame, tol), *(in_units(note, site.units) for note in notes)),
        thickness=(site.options.thickness_factor, site.options.least_thickness),
        uses_heat=any(site.assembly(plane).uses_heat for plane in planes),
        mistake=wrong,
        missing=tuple(layer for layer in layers if layer.number in laid - left),
        mistakes=mistakes,
    )


def in_units(text: str, units: Units) -> str:
    """Write the lengths of a sentence in the model's units; the prose of the trade has inches.

    Examples
    --------
    >>> in_units("eased by 1/4 in; 6 to 12 in short of it", Units.METRIC)
    'eased by 6 mm; 152 to 305 mm short of it'
    """
    if units is not Units.METRIC:
        return text

    def written(found: re.Match[str]) -> str:
        low, word, high = found.groups()
        least = found.string[found.end() :].startswith(" or more")
        text = size_text(_metres(high), units, least=least)
        return f"{size_text(_metres(low), units).split()[0]} {word} {text}" if low else text

    return _INCHES.sub(written, text)


def _metres(number: str) -> float:
    return float(sum(Fraction(part) for part in number.split())) * INCH


def _told(layer: DetailLayer, units: Units) -> DetailLayer:
    said = (layer.size, layer.why, layer.fastening, layer.mistake, layer.check)
    size, why, fastening, mistake, check = (in_units(text, units) for text in said)
    return replace(layer, size=size, why=why, fastening=fastening, mistake=mistake, check=check)


def _face(site: DetailSite, frame: Frame, face: Face, words: str, plane: str) -> FaceWords:
    return FaceWords(
        face=face,
        name=words or plane,
        slope=None if words else site.roof.plane(plane).slope,
        flow=frame.flow(face),
    )


def _slope_note(frame: Frame, tol: Tolerance) -> tuple[str, ...]:
    if abs(frame.along[2]) <= tol.level:
        return ()
    angle = math.degrees(math.asin(abs(frame.along[2])))
    return (f"The line itself slopes {angle:.1f} deg; lengths and the section are square to it.",)


def pitch_words(slope: float, units: Units) -> str:
    """Say how steep a plane is: rise over run, or on a metric sheet degrees."""
    if units is Units.METRIC:
        return f"{round(math.degrees(math.atan(slope)), 1):g} deg"
    return format_pitch(slope)


def slope_words(slope: float, units: Units) -> str:
    """Say how steep a plane is, in degrees too: ``6:12 (27 deg)``."""
    words = pitch_words(slope, units)
    if units is Units.METRIC:
        return words
    return f"{words} ({math.degrees(math.atan(slope)):.0f} deg)"


def bend_note(frame: Frame, sharp: float, *, tol: Tolerance = DEFAULT) -> tuple[str, ...]:
    """Ask for a gentler bend where sheets would have to turn by ``sharp`` radians or more."""
    if frame.turn < sharp - tol.slope:
        return ()
    eased = "a rounded edge" if frame.convex else "a cant strip or an eased bend"
    turn = math.degrees(frame.turn)
    return (f"The break turns by {turn:.0f} deg: {eased} is usual ({PRACTICE}).",)
