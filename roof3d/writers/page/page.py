"""From a project to the bytes of its page."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.project import Project
from roof3d.scene.roof_scene import build_roof_scene
from roof3d.writers.page.alternatives import (
    alternative_entry,
    build_alternative,
    usual_questions,
)
from roof3d.writers.page.colours import load_colours
from roof3d.writers.page.document import page_bytes
from roof3d.writers.page.facts import Live, page_facts, variant_entry
from roof3d.writers.page.meshes import page_glb
from roof3d.writers.page.places import drawn_places, place_entry
from roof3d.writers.page.words import plain_words
from roof3d.writers.page.wrong import wrong_builds


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


def build_page(
    project: Project,
    *,
    options: PageOptions | None = None,
    live: Live | None = None,
    house_only: bool = False,
) -> bytes:
    """Build the page of a roof.

    Parameters
    ----------
    project : Project
    options : PageOptions or None
    live : Live or None
        Where a served page listens for changes.
    house_only : bool
        Without joints and other answers: what a served page shows until those are ready.

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
    asked = dict.fromkeys((*usual_questions(project), *options.wishes))
    built = [] if house_only else [build_alternative(project, wish) for wish in asked]
    others = list({other.id: other for other in built}.values())
    drawn = () if house_only else drawn_places(project)
    wrongs = [wrong_builds(project, detail, places[0]) for detail, places in drawn]
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
        live=live,
        whole=not house_only,
    )
    details = [
        (detail, [shown.detail for shown in wrong])
        for (detail, _), wrong in zip(drawn, wrongs, strict=True)
    ]
    return page_bytes(facts, page_glb(build_roof_scene(project), details))
