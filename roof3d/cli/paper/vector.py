"""Section and plan of a joint as a sheet to scale: what ``roof3d explode`` does for paper."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, TypeAlias

import typer

from roof3d.cli.options import STYLES, parse_exaggeration
from roof3d.errors import Fault, SpecError

ENDINGS = (".svg", ".pdf", ".dxf")
"""Of drawings to scale."""
PICTURES = (".png",)
SHEETS = ("section", "plan")
"""Styles that are drawn to scale; the first where none is named."""

Style: TypeAlias = Annotated[
    str,
    typer.Option(
        "--style",
        help="exploded: layers lifted; cutaway: in place, each cut back to show the one below; "
        "section: the cut alone, large; plan: laid flat. Section and plan are drawn to scale where "
        "the file ends in .svg, .pdf or .dxf; a plan only there.",
        metavar="STYLE",
        show_default="exploded; of a drawing to scale section",
    ),
]


def sheet_style(style: str, output: Path | None) -> str | None:
    """Return the style in which a sheet to scale is asked for; None where a picture is.

    Parameters
    ----------
    style : str
        As written; empty where none was.
    output : Path or None

    Raises
    ------
    SpecError
        Where the style is none, or is not drawn in that kind of file.

    Examples
    --------
    >>> sheet_style("", Path("a.svg")), sheet_style("Plan", Path("a.PDF")), sheet_style("", None)
    ('section', 'plan', None)
    """
    word = style.strip().lower()
    known = (*STYLES, *(one for one in SHEETS if one not in STYLES))
    if word and word not in known:
        raise _fault("--style", f"'{style}' is no style", f"one of {', '.join(known)}")
    if output is not None and output.suffix.lower() in ENDINGS:
        if word and word not in SHEETS:
            raise _fault(
                "--style",
                f"'{word}' is a picture, and {output.suffix.lower()} is for drawings to scale",
                f"--style {' or '.join(SHEETS)}, or a file that ends in {PICTURES[0]}",
            )
        return word or SHEETS[0]
    if word in SHEETS and word not in STYLES:
        raise _fault(
            "--style",
            f"'{word}' is drawn to scale, not as a picture",
            f"name a file that ends in {', '.join(ENDINGS)} with -o",
        )
    return None


def refuse_idle(given: Mapping[str, bool | str | None]) -> None:
    """Refuse the first option that says nothing to a sheet to scale.

    Parameters
    ----------
    given : mapping of str
        Option to what was given; nothing, an empty text or False where it was not.

    Raises
    ------
    SpecError
        If one was.
    """
    for option, was in given.items():
        if was:
            raise _fault(
                option,
                "says nothing to a drawing to scale",
                f"leave it out, or name a file that ends in {PICTURES[0]}",
            )


def draw_sheet(
    model: Path,
    place: str,
    output: Path,
    style: str,
    exaggerate: str | None,
    *,
    force: bool,
) -> str:
    """Draw the section or the plan of a joint to scale into a file.

    Returns
    -------
    str
        What was done, for people.

    Raises
    ------
    RoofError
        Where the model is wrong, has no such place, or the file cannot be written.
    """
    from roof3d.cli.model_file import load_project
    from roof3d.cli.output import require_free
    from roof3d.drawing.detail.plan import build_plan
    from roof3d.drawing.detail.section import build_section
    from roof3d.scene.detail_scene import (
        DRAWN_THICKNESS,
        SECTION_THICKNESS,
        build_detail,
        find_detail,
    )
    from roof3d.writers.drawing.write import drawing_bytes
    from roof3d.writers.files import write_file

    factor = parse_exaggeration(exaggerate)
    require_free(output, force=force, source=model)
    project = load_project(model)
    # A factor that is asked for has no floor.
    usual, least = DRAWN_THICKNESS if style == "plan" else SECTION_THICKNESS
    detail = build_detail(
        project,
        find_detail(project, place or None).id,
        exaggerate=usual if factor is None else factor,
        least_thickness=least if factor is None else 0.0,
    )
    drawing = (build_plan if style == "plan" else build_section)(detail, project)
    write_file(output, drawing_bytes(output.suffix, drawing), force=force)
    return f"Wrote {output} ({drawing.paper}, {drawing.scale_words})"


def _fault(where: str, message: str, hint: str) -> SpecError:
    return SpecError((Fault(where=where, message=message, hint=hint),), source="command line")
