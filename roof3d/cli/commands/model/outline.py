"""``roof3d outline``: a model from a building outline."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from roof3d.cli.options import Force, with_ending
from roof3d.cli.output import require_free, say
from roof3d.errors import Fault, GeometryError, ReadError, SpecError
from roof3d.units import Units, format_area

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roof3d.readers.building import BuildingOutline
    from roof3d.readers.outline_model import FirstRoof

MOST_LISTED = 40
FIRST_MEASURES = {Units.IMPERIAL: ("9 ft", "16 in"), Units.METRIC: ("2.8 m", "400 mm")}


GeoJson: TypeAlias = Annotated[
    Path, typer.Argument(help="GeoJSON file with polygons.", metavar="FILE", show_default=False)
]
ModelFile: TypeAlias = Annotated[
    Path,
    typer.Option(
        "--output", "-o", help="Model file to write.", metavar="MODEL", show_default=False
    ),
]
OutlineId: TypeAlias = Annotated[
    str | None,
    typer.Option("--id", help="The outline with this id.", metavar="ID", show_default=False),
]
OutlineNumber: TypeAlias = Annotated[
    int | None,
    typer.Option(
        "--number",
        help="The outline at this place in the file, from 1.",
        metavar="N",
        show_default=False,
    ),
]
EavePitch: TypeAlias = Annotated[
    str, typer.Option("--pitch", help="Pitch of every edge.", metavar="PITCH")
]
EaveHeight: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--eave",
        help="Height of the roof surface above the outside wall face; 9 ft, or 2.8 m with metric "
        "units, if left out.",
        metavar="LENGTH",
        show_default=False,
    ),
]
Overhang: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--overhang",
        help="Overhang of every edge, in plan; 16 in, or 400 mm with metric units, if left out.",
        metavar="LENGTH",
        show_default=False,
    ),
]
GableEnds: TypeAlias = Annotated[
    bool,
    typer.Option("--gable-ends", help="Gables at the short ends of a four-cornered outline."),
]
ShownUnits: TypeAlias = Annotated[
    Units, typer.Option("--units", help="How the model shows results.")
]


def outline(
    file: GeoJson,
    *,
    output: ModelFile,
    id_: OutlineId = None,
    number: OutlineNumber = None,
    pitch: EavePitch = "6:12",
    eave: EaveHeight = None,
    overhang: Overhang = None,
    gable_ends: GableEnds = False,
    units: ShownUnits = Units.IMPERIAL,
    force: Force = False,
) -> None:
    """Write a model over one outline of the file."""
    with_ending(output, (".toml",))
    require_free(output, force=force)
    from roof3d.readers.geojson import load_outlines
    from roof3d.readers.outline_model import FirstRoof
    from roof3d.writers.files import write_file

    chosen = choose(load_outlines(file), id_, number, source=str(file))
    first_eave, first_overhang = FIRST_MEASURES[units]
    roof = FirstRoof(
        units=units,
        pitch=pitch,
        eave=first_eave if eave is None else eave,
        overhang=first_overhang if overhang is None else overhang,
        gable_ends=gable_ends,
    )
    text, used = _model_that_builds(chosen, roof, source=file.name)
    write_file(output, text.encode(), force=force)
    say(f"Wrote {output}")
    if used != roof.overhang:
        say(
            f"Overhangs of {roof.overhang} do not fit a notch, step or corner: the "
            f"model has {used} all round; widen them edge by edge."
        )
    say(f"Next: roof3d measure {output}")


def _model_that_builds(chosen: BuildingOutline, roof: FirstRoof, *, source: str) -> tuple[str, str]:
    """Return the text of a model that has a roof, and its overhang: the one asked for, or less."""
    import roof3d
    from roof3d.readers.outline_model import outline_model
    from roof3d.spec.read import parse_spec
    from roof3d.units import format_length, parse_length

    outline_model(chosen, roof, source=source)  # told first: what was asked may be wrong
    asked = parse_length(roof.overhang)
    for share in (1.0, 0.5, 0.25, 0.0):
        used = roof.overhang if share == 1.0 else format_length(share * asked, roof.units)
        text = outline_model(chosen, replace(roof, overhang=used), source=source)
        try:
            roof3d.build(parse_spec(text, source))
        except GeometryError as error:
            if error.code != "R3D-OVERHANGS-CROSS" or share == 0.0:
                raise
            continue
        break
    return text, used


def choose(
    outlines: Sequence[BuildingOutline], id_: str | None, number: int | None, *, source: str
) -> BuildingOutline:
    """Return the outline that was asked for.

    Parameters
    ----------
    outlines : sequence of BuildingOutline
        One or more.
    id_, number : str, int or None
        At most one of them; neither where there is one outline alone.
    source : str
        Name of the file, for errors.

    Raises
    ------
    ReadError
        If there are several and none was chosen, or no such one.
    SpecError
        If both ways to choose were used.
    """
    if id_ is not None and number is not None:
        fault = Fault(where="--id, --number", message="two ways to choose", hint="use one of them")
        raise SpecError((fault,), source="command line")
    if number is not None:
        if not 1 <= number <= len(outlines):
            raise ReadError(
                f"has no outline {number}", where=source, hint=f"--number 1 to {len(outlines)}"
            )
        return outlines[number - 1]
    if id_ is not None:
        found = [outline for outline in outlines if outline.id == id_]
        if len(found) > 1:
            raise ReadError(
                f'holds {len(found)} outlines with the id "{id_}"',
                where=source,
                hint="choose by --number",
            )
        if found:
            return found[0]
        from difflib import get_close_matches

        near = get_close_matches(id_, [outline.id for outline in outlines], n=1)
        raise ReadError(
            f'has no outline with the id "{id_}"',
            where=source,
            hint=f'did you mean "{near[0]}"?' if near else "without --id they are listed",
        )
    if len(outlines) == 1:
        return outlines[0]
    raise ReadError(
        f"holds {len(outlines)} outlines: choose one, with --number 1 or --id {outlines[0].id}\n"
        + listing(outlines),
        where=source,
    )


def listing(outlines: Sequence[BuildingOutline]) -> str:
    """Return one line an outline: number, id, corners, plan area, or why it cannot be used."""
    shown = outlines[:MOST_LISTED]
    width = max(len(outline.id) for outline in shown)
    lines = []
    for number, outline in enumerate(shown, start=1):
        size = f"{outline.corners:>5} corners  {format_area(outline.plan_area, Units.METRIC):>12}"
        what = outline.problems[0] if outline.problems else size
        name = f"  {outline.name}" if outline.name else ""
        lines.append(f"{number:>5}  {outline.id:<{width}}  {what}{name}")
    if len(outlines) > len(shown):
        lines.append(f"       and {len(outlines) - len(shown)} more")
    return "\n".join(lines)
