"""``roof3d lesson``: a joint of the roof taught step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from roof3d.cli.commands.lesson.folder import Folder, require_room
from roof3d.cli.model_file import load_project
from roof3d.cli.options import Force, Model, Size, parse_size
from roof3d.cli.output import json_text, progress, say
from roof3d.errors import Fault, SpecError

if TYPE_CHECKING:
    from roof3d.details.model import Detail
    from roof3d.lesson.model import Lesson
    from roof3d.project import Project
    from roof3d.render.lesson_pictures.draw import Figure, LessonPictures
    from roof3d.writers.lesson.handout_html import Picture


_Place: TypeAlias = Annotated[
    str,
    typer.Argument(
        help="What 'roof3d explode --list' prints: the id of a joint, or a kind such as "
        "eave-shingle. The first joint where not given.",
        metavar="[PLACE]",
        show_default=False,
    ),
]
_Output: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--output",
        "-o",
        help="Folder to write into; named for model and joint where this is left out.",
        metavar="DIR",
        show_default=False,
    ),
]
_Temperature: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--temperature",
        help='Of sheet and deck on the day, such as "38 F" or "3 C"; the model\'s own where '
        "not given. Each step then says what it changes.",
        metavar="DEGREES",
        show_default=False,
    ),
]
_Mistake: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--mistake",
        help="Show the joint built wrong on purpose too, such as back-lap, with the way the "
        "water takes, and ask about it; a name that is not known lists them.",
        metavar="NAME",
        show_default=False,
    ),
]
_NoAnimation: TypeAlias = Annotated[
    bool, typer.Option("--no-animation", help="Leave the moving pictures out.")
]
_Json: TypeAlias = Annotated[
    bool, typer.Option("--json", help="Print the lesson as JSON, and draw nothing.")
]


def lesson(
    model: Model,
    place: _Place = "",
    *,
    output: _Output = None,
    size: Size = "1600x1200",
    temperature: _Temperature = None,
    mistake: _Mistake = None,
    no_animation: _NoAnimation = False,
    json: _Json = False,
    force: Force = False,
) -> None:
    """Write pictures, moving pictures and a handout into a folder."""
    pixels = parse_size(size)
    celsius = _celsius(temperature)
    if json and output is not None:
        raise _fault("--output", "says nothing to --json", "leave one of them out")
    if output is not None:
        require_room(output, force=force)
    project = load_project(model)
    detail, wrong, taught = _teach(project, place, celsius, mistake)
    if json:
        from roof3d.writers.lesson.document import lesson_document

        say(json_text(lesson_document(taught)))
        return
    from roof3d.render.lesson_pictures.draw import draw_lesson

    folder = Folder(output or Path(f"{model.stem}-{detail.id}-lesson"), force)
    require_room(folder.path, force=force)
    with progress(f"drawing {len(taught.steps)} steps") as tell:
        drawn = draw_lesson(
            project, detail, taught, pixels, film=not no_animation, wrong=wrong, on_part=tell
        )
    _collect(folder, taught, drawn)
    folder.write(model)
    say(f"\nOpen first: {folder.path / 'handout.html'}")


def _teach(
    project: Project, place: str, celsius: float | None, mistake: str | None
) -> tuple[Detail, Detail | None, Lesson]:
    """Build the joint, right and if it is asked for wrong, and its lesson."""
    from roof3d.lesson.build import build_lesson
    from roof3d.scene.detail_scene import build_detail, detail_mistakes

    detail = build_detail(project, place or None)
    if mistake is None:
        return detail, None, build_lesson(project, detail, celsius=celsius)
    wrong = build_detail(project, detail.id, mistake=mistake)
    others = [
        other
        for other in detail_mistakes(project, detail.id)
        if wrong.mistake is not None and other.mistake is not wrong.mistake.mistake
    ]
    taught = build_lesson(project, detail, celsius=celsius, wrong=wrong.mistake, others=others)
    return detail, wrong, taught


def draw_handout(project: Project, place: str, size: tuple[int, int]) -> bytes:
    """Draw the steps of a joint and return its handout alone.

    Raises
    ------
    RoofError
        Code ``R3D-GRAPHICS``, where this machine cannot draw.
    """
    from roof3d.render.lesson_pictures.draw import draw_lesson
    from roof3d.render.machine import require_graphics

    require_graphics()
    detail, _, taught = _teach(project, place, None, None)
    return _handout(taught, draw_lesson(project, detail, taught, size, film=False))


def _handout(taught: Lesson, drawn: LessonPictures) -> bytes:
    from roof3d.lesson.handout import CONTACT, CUT, WRONG, build_handout, step_picture_name
    from roof3d.writers.lesson.handout_html import handout_html

    figures = {
        step_picture_name(step): _picture(figure)
        for step, figure in zip(taught.steps, drawn.figures, strict=True)
    }
    figures[CONTACT] = _picture(drawn.overview)
    figures[CUT] = _picture(drawn.section)
    if drawn.wrong_figure is not None:
        figures[WRONG] = _picture(drawn.wrong_figure)
    return handout_html(build_handout(taught), figures)


def _collect(folder: Folder, taught: Lesson, drawn: LessonPictures) -> None:
    """Gather what is to be written."""
    from roof3d.lesson.handout import step_picture_name

    page = _handout(taught, drawn)
    count = len(taught.questions)
    folder.add("handout.html", page, f"to read and print: every step, {count} questions, answers")
    for step, png in zip(taught.steps, drawn.steps, strict=True):
        folder.add(f"{step_picture_name(step)}.png", png, step.name)
    folder.add("all-steps.png", drawn.contact, "all steps on one sheet")
    if taught.wrong is not None and drawn.wrong:
        name = f"wrong-{taught.wrong.name}.png"
        folder.add(name, drawn.wrong, f"wrong on purpose: {taught.wrong.title}")
    if drawn.film is not None:
        folder.add("build.mp4", drawn.film.mp4, "the build as a film")
        folder.add("build.gif", drawn.film.gif, "the same, smaller, in a loop")


def _picture(figure: Figure) -> Picture:
    from roof3d.writers.lesson.handout_html import Picture

    return Picture(data=figure.data, kind="image/webp", size=figure.size)


def _celsius(text: str | None) -> float | None:
    """Read a temperature, degrees Celsius; None where not said."""
    if text is None:
        return None
    from roof3d.lesson.weather import parse_day

    try:
        return parse_day(text)
    except ValueError as error:
        raise _fault("--temperature", str(error), 'such as "38 F" or "3 C"') from None


def _fault(where: str, message: str, hint: str) -> SpecError:
    return SpecError((Fault(where=where, message=message, hint=hint),), source="command line")
