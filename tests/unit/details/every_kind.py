"""Small houses in text that have, between them, every kind of joint at every pitch it can have."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from roof3d.details.build import offered
from roof3d.details.model import Detail, DetailKind
from roof3d.details.places import places
from roof3d.details.site import DetailSite, Place
from roof3d.project import Project, build
from roof3d.scene.detail_scene import build_detail
from roof3d.spec.read import parse_spec

MODELS = sorted((Path(__file__).parents[3] / "models").glob("*.toml"))
LOW, STEEP = (0.25, 1.0, 1.9), (2.0, 4.0, 8.0, 12.0, 21.0)
"""Rise in 12: of membranes; of shingles, from the least slope up to where they need dabs."""
_HEAD = 'schema = 1\nname = "Small house"\nunits = "imperial"\n'
_TOWER = """
[[section]]
id = "tower"
form = "gable"
length = "30 ft"
width = "20 ft"
at = ["0 ft", "10 ft"]
eave = "60 ft"
pitch = "6:12"
"""
_SHEDS = """
[[section]]
id = "lean"
form = "shed"
length = "24 ft"
width = "12 ft"
at = ["3 ft", "-1 ft"]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
[[section]]
id = "side"
form = "shed"
length = "20 ft"
width = "14 ft"
at = ["29 ft", "13 ft"]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
"""
_OPENINGS = """
[[opening]]
id = "vent"
kind = "pipe"
at = ["8 ft", "4 ft"]
diameter = "3 in"
height = "12 in"
[[opening]]
id = "stack"
kind = "chimney"
at = ["18 ft", "5 ft"]
size = ["{wide} in", "20 in"]
height = "12 ft"
"""
_L = """
[layout]
valley = "{valley}"
ridge_vent = {vent}
[[section]]
id = "house"
form = "outline"
outline = [
  ["0 ft", "0 ft"], ["40 ft", "0 ft"], ["40 ft", "20 ft"],
  ["20 ft", "20 ft"], ["20 ft", "40 ft"], ["0 ft", "40 ft"],
]
eave = "9 ft"
pitch = "{pitch}:12"
overhang = {{ eave = "12 in", rake = "6 in" }}
edge = [{{ at = 2, pitch = "{wing}:12" }}]
"""
_KNEE = """
[[section]]
id = "barn"
form = "gambrel"
length = "30 ft"
width = "24 ft"
eave = "9 ft"
lower_pitch = "{lower}:12"
break_in = "5 ft"
pitch = "{upper}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
"""
_PORCH = """
[[section]]
id = "main"
form = "gable"
length = "42 ft"
width = "28 ft"
eave = "9 ft"
pitch = "{steep}:12"
overhang = {{ eave = "16 in", rake = "8 in" }}
[[section]]
id = "porch"
form = "shed"
length = "20 ft"
width = "{deep} ft"
at = ["11 ft", "-12 ft"]
eave = "8 ft 6 in"
pitch = "{low}:12"
overhang = {{ eave = "12 in", rake = "8 in" }}
"""
_HALL = """
[[section]]
id = "hall"
form = "shed"
length = "40 ft"
width = "24 ft"
eave = "12 ft"
pitch = "{pitch}:12"
parapet = {{ height = "{high} in", thickness = "8 in" }}
[[opening]]
id = "outlet"
kind = "drain"
at = ["20 ft", "8 ft"]
diameter = "8 in"
sump = "36 in"
[[opening]]
id = "overflow"
kind = "scupper"
at = ["20 ft", "0 ft"]
width = "10 in"
height = "4 in"
overflow = true
"""


def low_house(pitch: float) -> str:
    """Return sheds of a membrane against a tower, with pipe and chimney."""
    wide = 32 if pitch == 1.0 else 20
    return _HEAD + _TOWER + _SHEDS.format(pitch=pitch) + _OPENINGS.format(wide=wide)


def steep_house(pitch: float) -> str:
    """Return the same, in shingles; an ice barrier, and a wide chimney, at some pitches."""
    ice = "[site]\nice_barrier = true\n" if pitch in {4.0, 12.0} else ""
    wide = 36 if pitch > 4.0 else 24
    return _HEAD + ice + _TOWER + _SHEDS.format(pitch=pitch) + _OPENINGS.format(wide=wide)


def angled_house(pitch: float, *, closed: bool) -> str:
    """Return an L: hips, ridges, a valley between unlike planes; vented where it is closed-cut."""
    wing = pitch * 1.5 if pitch < 12.0 else pitch
    valley, vent = ("closed_cut", "true") if closed else ("open", "false")
    return _HEAD + _L.format(pitch=pitch, wing=wing, valley=valley, vent=vent)


def knee_house(lower: float, upper: float) -> str:
    """Return a gambrel: shingles over shingles, or a membrane over a steep face."""
    return _HEAD + _KNEE.format(lower=lower, upper=upper)


def porch_house(low: float, steep: float) -> str:
    """Return a nearly flat porch that runs into a steep roof."""
    return _HEAD + _PORCH.format(low=low, steep=steep, deep=16)


def mixed_house(low: float, steep: float) -> str:
    """Return an L of which one wing is nearly flat: a valley of membrane and shingles."""
    text = _L.format(pitch=steep, wing=low, valley="open", vent="false")
    return _HEAD + text


def parapet_house(pitch: float) -> str:
    """Return a flat hall behind a parapet, with drain and scupper."""
    return _HEAD + _HALL.format(pitch=pitch, high=20 if pitch < 1.0 else 10)


HOUSES: dict[str, str] = {
    **{f"low {p:g}": low_house(p) for p in LOW},
    **{f"parapet {p:g}": parapet_house(p) for p in (0.25, 0.5, 1.0)},
    **{f"steep {p:g}": steep_house(p) for p in STEEP},
    **{f"angled {p:g}": angled_house(p, closed=False) for p in STEEP},
    **{f"angled, closed {p:g}": angled_house(p, closed=True) for p in STEEP},
    **{
        f"break {a:g} over {b:g}": knee_house(b, a)
        for a, b in ((3.0, 8.0), (4.0, 12.0), (8.0, 21.0))
    },
    **{
        f"knee {a:g} over {b:g}": knee_house(b, a)
        for a, b in ((0.25, 6.0), (0.5, 12.0), (1.9, 21.0))
    },
    **{
        f"porch {a:g} under {b:g}": porch_house(a, b)
        for a, b in ((0.25, 4.0), (1.0, 8.0), (1.0, 12.0), (1.9, 21.0))
    },
    **{f"mixed {a:g} and {b:g}": mixed_house(a, b) for a, b in ((1.0, 4.0), (1.5, 8.0))},
}
"""By what they are: the text of the model."""


@cache
def project_of(name: str) -> Project:
    """Build a small house, or a shipped model by the name of its file."""
    text = HOUSES.get(name)
    if text is None:
        path = next(path for path in MODELS if path.stem == name)
        text = path.read_text(encoding="utf-8")
    return build(parse_spec(text, source=f"{name}.toml"))


def places_of(project: Project) -> tuple[Place, ...]:
    """Return every place of a project that is offered."""
    chosen = {choice.plane: choice.assembly for choice in project.choices}
    return offered(places(project.roof, project.catalog, chosen, project.spec.layout))


def first_of_each(project: Project) -> dict[DetailKind, Place]:
    """Return the first place of each kind."""
    found: dict[DetailKind, Place] = {}
    for place in places_of(project):
        found.setdefault(place.kind, place)
    return found


@cache
def detail_of(name: str, place: str, *, thick: bool = True) -> Detail:
    """Build a detail of a house, drawn thick or true."""
    project = project_of(name)
    if thick:
        return build_detail(project, place)
    return build_detail(project, place, exaggerate=1.0, least_thickness=0.0)


def site_of(name: str, place: Place) -> DetailSite:
    """Return the site of a place."""
    project = project_of(name)
    return DetailSite(
        place=place,
        roof=project.roof,
        layout=project.layout,
        catalog=project.catalog,
        assembly_of={choice.plane: choice.assembly for choice in project.choices},
    )


_KINDS: dict[str, tuple[DetailKind, ...]] = {
    "low": (
        DetailKind.EAVE_MEMBRANE,
        DetailKind.RAKE_MEMBRANE,
        DetailKind.HEADWALL_MEMBRANE,
        DetailKind.SIDEWALL_MEMBRANE,
        DetailKind.CORNER,
        DetailKind.PIPE_MEMBRANE,
        DetailKind.CHIMNEY_MEMBRANE,
        DetailKind.CAP_LAP,
    ),
    "parapet": (DetailKind.PARAPET, DetailKind.DRAIN, DetailKind.SCUPPER),
    "steep": (
        DetailKind.EAVE_SHINGLE,
        DetailKind.RAKE_SHINGLE,
        DetailKind.HEADWALL_SHINGLE,
        DetailKind.SIDEWALL_SHINGLE,
        DetailKind.PIPE_SHINGLE,
        DetailKind.CHIMNEY,
    ),
    "angled": (DetailKind.HIP, DetailKind.RIDGE, DetailKind.VALLEY_OPEN),
    "angled, closed": (DetailKind.RIDGE_VENTED, DetailKind.VALLEY_CLOSED),
    "break": (DetailKind.PITCH_BREAK,),
    "knee": (DetailKind.LOW_ABOVE_STEEP,),
    "porch": (DetailKind.LOW_BELOW_STEEP,),
    "mixed": (DetailKind.VALLEY_JOINT,),
}
CASES: tuple[tuple[str, DetailKind], ...] = tuple(
    (name, kind)
    for name in HOUSES
    for kind in _KINDS[max((k for k in _KINDS if name.startswith(k)), key=len)]
)
"""House and kind: of each house the joints for which it is there."""
