"""From a project to the bytes of its page."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.project import Project
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.writers.page.alternatives import (
    Alternative,
    alternative_entry,
    build_alternative,
    usual_questions,
)
from roof3d.writers.page.colours import load_colours
from roof3d.writers.page.document import page_bytes
from roof3d.writers.page.facts import page_facts, variant_entry
from roof3d.writers.page.meshes import page_glb
from roof3d.writers.page.places import drawn_places, place_entry
from roof3d.writers.page.words import plain_words
from roof3d.writers.page.wrong import build_wrongs


@dataclass(frozen=True, slots=True, kw_only=True)
class PageOptions:
    """What a page holds beside the roof as it is.

    Attributes
    ----------
    wishes : tuple[str, ...]
        Further answers to prepare; see ``build_alternative``.
    colours : str or None
        TOML of the user's own colours; see ``load_colours``.
    colours_name : str
        Of that file, for messages.
    """

    wishes: tuple[str, ...] = ()
    colours: str | None = None
    colours_name: str = "colours"


def build_page(project: Project, *, options: PageOptions | None = None) -> bytes:
    """Build the page of a roof.

    Parameters
    ----------
    project : Project
    options : PageOptions or None

    Returns
    -------
    bytes
        One HTML file; equal for equal input.

    Raises
    ------
    SpecError, LayoutError, GeometryError, ReadError, WriteError
        Where the model, a wish, the colours or this installation are not up to it.
    """
    options = options or PageOptions()
    chosen = load_colours(options.colours, name=options.colours_name)
    others = asked_for(project, options)
    drawn = drawn_places(project)
    wrongs = [tuple(build_wrongs(project, detail, places[0])) for detail, places in drawn]
    facts = page_facts(
        project,
        variants=[
            variant_entry(project, name="as-is", title="As it is"),
            *(alternative_entry(project, other) for other in others),
        ],
        places=[
            place_entry(project, detail, places, wrong)
            for (detail, places), wrong in zip(drawn, wrongs, strict=True)
        ],
        words=plain_words(),
        colours=chosen,
    )
    details = [
        (detail, [shown.detail for shown in wrong])
        for (detail, _), wrong in zip(drawn, wrongs, strict=True)
    ]
    return page_bytes(facts, page_glb(build_roof_scene(project), details))


def asked_for(project: Project, options: PageOptions) -> tuple[Alternative, ...]:
    """Build the other answers of a page, not laid out yet: the usual ones, then the wishes.

    Raises
    ------
    SpecError, GeometryError
        Where a wish names nothing that there is, or cannot be built.
    """
    wishes = dict.fromkeys((*usual_questions(project), *options.wishes))
    built = (build_alternative(project, wish) for wish in wishes)
    return tuple({other.id: other for other in built}.values())
