"""What the page knows: the documents of the other commands, unchanged, and words beside them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import roof3d
from roof3d.project import Project
from roof3d.roof.model import Kind
from roof3d.rules.cautions import cautions_for
from roof3d.writers.measure_json import finding_entry, measure_document
from roof3d.writers.page.courses import course_lines
from roof3d.writers.page.words import plane_names
from roof3d.writers.takeoff.document import takeoff_document
from roof3d.writers.takeoff.job import build_job

SCHEMA = "roof3d.page/1"
_ASKEW = 20.0
"""Degrees off square from which the front is seen: two sides of the house show."""
_WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_CORNERS = tuple((45.0 * at, _WINDS[at]) for at in (1, 3, 5, 7))


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """Where a served page listens for changes of its model.

    Attributes
    ----------
    events, shows : str
        Paths: where news come from, and where the page says what its reader looks at.
    token : str
        What lets it in.
    state : str
        Which state of the model the page shows, so that a change before it listens is told.
    """

    events: str
    shows: str
    token: str
    state: str = ""


def variant_entry(
    project: Project,
    *,
    name: str,
    title: str,
    question: str = "",
    plain: Sequence[str] = (),
    waits: Collection[str] = (),
) -> dict[str, Any]:
    """Return a roof as one answer: its documents, its assemblies, its courses.

    Parameters
    ----------
    project : Project
    name : str
        Id of the answer; ``as-is`` for the model itself.
    title, question : str
    plain : sequence of str
        What changes, in plain words.
    waits : collection of str
        What is left out for now, since it takes long: ``takeoff``, ``laps`` among the findings.

    Raises
    ------
    LayoutError
        Where pieces cannot be set out as the assemblies ask.
    """
    lines = [course_lines(laid, project.catalog) for laid in project.layout.planes]
    return {
        "id": name,
        "title": title,
        "question": question,
        "plain": list(plain),
        "measure": measure_document(project),
        "takeoff": {"items": []} if "takeoff" in waits else takeoff_entry(project),
        "assemblies": [_assembly(project, choice.plane) for choice in project.choices],
        "findings": finding_entries(project, laps="laps" not in waits),
        "water": [],
        "courses": [line for line in lines if line is not None],
        **({"waits": list(waits)} if waits else {}),
    }


def finding_entries(project: Project, *, laps: bool = True) -> list[dict[str, Any]]:
    """Return what the rules say, worst first, with or without what the proof of laps tells."""
    found = project.every_finding if laps else project.laid_findings
    return [finding_entry(finding) for finding in found]


def page_facts(
    project: Project,
    *,
    variants: Sequence[Mapping[str, Any]],
    places: Sequence[Mapping[str, Any]],
    words: Mapping[str, Any],
    colours: Mapping[str, Any],
    live: Live | None = None,
    whole: bool = True,
) -> dict[str, Any]:
    """Return the page's one document, schema ``roof3d.page/1``; see ``frontend/src/data.ts``."""
    return {
        "schema": SCHEMA,
        "program": f"roof3d {roof3d.__version__}",
        "model": project.spec.name,
        "units": project.spec.units.value,
        "variants": list(variants),
        "places": list(places),
        **words,
        "names": plane_names(project.roof.planes),
        "colours": colours,
        "views": _views(project),
        "cautions": list(cautions_for(project.choices, project.catalog, project.spec)),
        "live": None if live is None else asdict(live),
        "whole": whole,
    }


def takeoff_entry(project: Project) -> dict[str, Any]:
    """Return the take-off without the cutting lists, which the page does not show."""
    document = takeoff_document(build_job(project))
    kept = ("schema", "model", "units", "allowance_percent", "assumptions")
    items = [
        {key: value for key, value in item.items() if key not in {"cutting", "used"}}
        for item in document["items"]
    ]
    return {**{key: document[key] for key in kept}, "items": items}


def _assembly(project: Project, plane_id: str) -> dict[str, Any]:
    choice = next(choice for choice in project.choices if choice.plane == plane_id)
    assembly = project.catalog.assembly(choice.assembly)
    layers = assembly.layers_at(project.roof.plane(plane_id).slope)
    materials = [project.catalog.material(layer.material) for layer in layers]
    return {
        "plane": plane_id,
        "assembly": assembly.id,
        "name": assembly.name,
        "kind": assembly.kind,
        "why": choice.why,
        "layers": [
            {
                "role": layer.role,
                "name": material.name,
                "material": material.id,
                "thickness_m": material.thickness,
                "width_m": material.width,
                "lap_m": material.side_lap,
                "purpose": material.purpose,
                "source": material.source,
            }
            for layer, material in zip(layers, materials, strict=True)
        ],
    }


def _views(project: Project) -> list[dict[str, Any]]:
    """Return where one may stand: before the house first, then over it, then at each corner.

    No model says where its street is, so each view is named by the compass. The first is from the
    side to which the most of the low roof drains, so that it is seen.
    """
    planes = [plane for plane in project.roof.planes if plane.azimuth_deg is not None]
    falls: dict[float, float] = {}
    for plane in [plane for plane in planes if plane.kind is Kind.LOW] or planes:
        azimuth = round(plane.azimuth_deg or 0.0, 1) % 360.0
        falls[azimuth] = falls.get(azimuth, 0.0) + plane.area
    front = max(falls, key=lambda azimuth: falls[azimuth], default=180.0)
    before = (front + _ASKEW) % 360.0
    wind = _WINDS[round(before / 45.0) % len(_WINDS)]
    corners = sorted(_CORNERS, key=lambda corner: abs((corner[0] - front + 180) % 360 - 180))
    return [
        _view("front", f"From the {wind}", before, 22.0),
        _view("above", "From above", front, 89.0),
        *(
            _view(name, f"From the {name}", azimuth, 30.0)
            for azimuth, name in corners
            if name != wind
        ),
    ]


def _view(name: str, title: str, azimuth: float, elevation: float) -> dict[str, Any]:
    return {"id": name, "name": title, "azimuth_deg": azimuth, "elevation_deg": elevation}
