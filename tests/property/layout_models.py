"""Models to lay out: piles with what a site asks and an assembly wished for on every plane.

What is read off a layout here is worked out apart from the package: brute force over the boxes,
overlays over the outlines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from hypothesis import settings
from hypothesis import strategies as st

from roof3d.catalog.load import load_catalog
from roof3d.catalog.material import MaterialForm
from roof3d.layout.model import Direction, LaidLayer, LaidPlane
from roof3d.project import Project, build
from roof3d.roof.build import build_roof
from roof3d.roof.model import Plane, Roof
from roof3d.spec.model import PlaneSpec, RoofSpec
from roof3d.spec.read import parse_spec
from tests.model_text import Block, mirrored, model_text
from tests.property.strategies import EXAMPLES, SETTINGS, Cut, cut_piles, piles

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

    from tests.outline_data import Rings

CATALOG = load_catalog()
ASSEMBLIES = tuple(assembly.id for assembly in CATALOG.assemblies)

#: The laws of layouts take a tenth of a second each time: fewer in the ordinary suite.
FEW = settings(SETTINGS, max_examples=EXAMPLES or 25)

ICE = "ice_barrier = true"
#: Zones by a rule of the whole building: a section far away widens or narrows them.
BUILDING_ZONES = ('zones = "asce_7_10"', 'zones = "asce_7_16"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a model asks of the laying: its tables, and an assembly a plane in their order."""

    tables: str
    assemblies: tuple[str, ...]


@st.composite
def wanted(draw: DrawFn, *, of_the_building: bool = True) -> Wanted:
    """Draw ``[site]`` and ``[layout]``, and assemblies that are given to the planes in turn."""
    zones = ("", 'zones = "1 m"', *(BUILDING_ZONES if of_the_building else ()))
    site = (
        draw(st.sampled_from(("", ICE, ICE + '\ncode = "IRC 2021"'))),
        draw(st.sampled_from(("", 'wind = "high"'))),
        draw(st.sampled_from(zones)),
    )
    laying = (
        draw(st.sampled_from(("", 'valley = "closed_cut"'))),
        draw(st.sampled_from(("", "even_laps = true"))),
        draw(st.sampled_from(("", "ridge_vent = true"))),
    )
    tables = "\n".join(["", "[site]", *filter(None, site), "[layout]", *filter(None, laying), ""])
    picked = draw(st.lists(st.sampled_from(ASSEMBLIES), min_size=1, max_size=6))
    return Wanted(tables=tables, assemblies=tuple(picked))


Drawn = tuple[tuple[Block, ...], tuple[Cut, ...]]


def any_piles(*, most: int = 3) -> st.SearchStrategy[Drawn]:
    """Piles with openings and without."""
    plain = piles(overhangs=(0.0, 0.3, 0.5), raised=True, most=most)
    return st.one_of(plain.map(lambda pile: (pile, ())), cut_piles(raised=True))


def spec_of(drawn: Drawn, tables: str) -> RoofSpec:
    """Read the model of a pile."""
    pile, cuts = drawn
    text = model_text(pile, tables=tables)
    text += "".join(cut.text(f"cut{k}") for k, cut in enumerate(cuts))
    return parse_spec(text, source="pile.toml")


def outline_spec(rings: Rings, tables: str, *, pitch: str) -> RoofSpec:
    """Read a model of one open outline, in metres from a corner of it."""
    west, south = (min(point[axis] for point in rings[0]) for axis in (0, 1))

    def text(ring: tuple[tuple[float, float], ...]) -> str:
        return ",\n".join(f'["{x - west:.3f} m", "{y - south:.3f} m"]' for x, y in ring)

    section = [
        "[[section]]",
        'id = "main"',
        'form = "outline"',
        'eave = "3 m"',
        f'pitch = "{pitch}"',
        'overhang = "0.3 m"',
        f"outline = [{text(rings[0])}]",
    ]
    if rings[1:]:
        section.append("courtyard = [" + ",\n".join(f"[{text(ring)}]" for ring in rings[1:]) + "]")
    return parse_spec(model_text((), tables=tables) + "\n".join(section) + "\n", source="o.toml")


def wished(spec: RoofSpec, assemblies: Sequence[str]) -> Project:
    """Build a project with an assembly wished for on each plane, in turn."""
    roof = build_roof(spec)[0]
    wishes = tuple(
        PlaneSpec(id=plane.id, assembly=assemblies[k % len(assemblies)])
        for k, plane in enumerate(roof.planes)
    )
    return build(replace(spec, planes=wishes))


def wished_alike(spec: RoofSpec, known: Project, motion: Motion) -> Project | None:
    """Build a project whose planes carry what those of the unmoved one do.

    None where snapping has made other planes or edges of the moved roof.
    """
    roof = build_roof(spec)[0]
    if _measured(roof) != _measured(known.roof):
        return None
    wishes = []
    for plane in known.roof.planes:
        place = motion.moved(_middle(plane))
        near = min(roof.planes, key=lambda other: math.dist(_middle(other), place))
        if math.dist(_middle(near), place) > NEAR or abs(near.area - plane.area) > NEAR:
            return None
        wishes.append(PlaneSpec(id=near.id, assembly=known.assembly_of(plane.id)))
    if len({wish.id for wish in wishes}) < len(roof.planes):
        return None
    return build(replace(spec, planes=tuple(wishes)))


NEAR = 1e-3


def _measured(roof: Roof) -> list[tuple[str, float]]:
    return sorted((edge.role.value, round(edge.length, 2)) for edge in roof.edges)


def _middle(plane: Plane) -> tuple[float, float, float]:
    """Return the middle of a plane in space."""
    shell = [point[:2] for point in plane.outline]
    holes = [[point[:2] for point in hole] for hole in plane.holes]
    centre = shapely.Polygon(shell, holes).centroid
    z = plane.gradient[0] * centre.x + plane.gradient[1] * centre.y + plane.offset
    return (centre.x, centre.y, z)


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A rigid motion of a model: a mirror first, if any, then a turn, then a shift."""

    mirror: bool = False
    degrees: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)

    def moved(self, point: tuple[float, float, float]) -> tuple[float, float, float]:
        """Move one point."""
        x, y, z = point
        x = -x if self.mirror else x
        sine, cosine = math.sin(math.radians(self.degrees)), math.cos(math.radians(self.degrees))
        return (
            x * cosine - y * sine + self.shift[0],
            x * sine + y * cosine + self.shift[1],
            z,
        )

    def of(self, drawn: Drawn) -> Drawn:
        """Move a pile and its openings."""
        pile, cuts = drawn
        return tuple(self._block(block) for block in pile), tuple(self._cut(cut) for cut in cuts)

    def _block(self, block: Block) -> Block:
        seen = mirrored(block) if self.mirror else block
        x, y, _ = replace(self, mirror=False).moved((*seen.at, 0.0))
        # What a mirror leaves of zero is no length that a file may hold.
        return replace(seen, at=(round(x, 9), round(y, 9)), turn=seen.turn + self.degrees)

    def _cut(self, cut: Cut) -> Cut:
        x, y, _ = self.moved((*cut.at, 0.0))
        turn = -cut.turn if self.mirror else cut.turn
        return replace(cut, at=(round(x, 9), round(y, 9)), turn=turn + self.degrees)


def layers_of(project: Project) -> Iterator[tuple[LaidPlane, LaidLayer]]:
    """Give every layer with its plane."""
    for plane in project.layout.planes:
        for layer in plane.layers:
            yield plane, layer


def is_shingle(layer: LaidLayer) -> bool:
    """Whether a layer is of shingles."""
    return CATALOG.material(layer.material).form is MaterialForm.SHINGLE


@dataclass(frozen=True, slots=True, eq=False)
class Boxes:
    """The boxes of a layer as its courses see them: ``s`` along the run, ``t`` across it.

    Signed so that courses stack along growing ``t``.
    """

    starts: np.ndarray
    lows: np.ndarray
    ends: np.ndarray
    highs: np.ndarray
    course: np.ndarray


def boxes_of(layer: LaidLayer) -> Boxes:
    """Turn the boxes of a layer into the frame of its courses."""
    boxes = layer.pieces.boxes
    u0, v0, u1, v1 = boxes.T
    s0, t0, s1, t1 = (u0, v0, u1, v1) if layer.direction is Direction.ACROSS else (v0, u0, v1, u1)
    if len(layer.courses) > 1 and layer.courses[-1].high < layer.courses[0].high:
        t0, t1 = -t1, -t0
    return Boxes(s0, t0, s1, t1, layer.pieces.course)


def joints_of(layer: LaidLayer) -> dict[int, list[tuple[float, float, float]]]:
    """Return (place, low, high) of the joints in each course, pair by pair.

    Of sheets the place is where the sheet laid later begins, of shingles where two meet.
    """
    seen = boxes_of(layer)
    found: dict[int, list[tuple[float, float, float]]] = {}
    for k in range(1, len(seen.course)):
        if seen.course[k] != seen.course[k - 1]:
            continue
        ahead = seen.starts[k] > seen.starts[k - 1]
        lap = seen.ends[k - 1] - seen.starts[k] if ahead else seen.ends[k] - seen.starts[k - 1]
        if lap > (-1e-6 if is_shingle(layer) else 0.0):
            place = float(seen.starts[k] if ahead else seen.ends[k])
            band = (float(seen.lows[k]), float(seen.highs[k]))
            found.setdefault(int(seen.course[k]), []).append((place, *band))
    return found


def least_stagger(layer: LaidLayer) -> float:
    """Return the smallest distance of joints in neighbouring courses."""
    joints = joints_of(layer)
    least = math.inf
    for number, own in joints.items():
        above = joints.get(number + 1)
        if above:
            places = np.array([place for place, _, _ in own])
            others = np.array([place for place, _, _ in above])
            least = min(least, float(np.abs(places[:, None] - others[None, :]).min()))
    return least


def least_end_offset(lower: LaidLayer, upper: LaidLayer) -> float:
    """Return the smallest distance of end laps of two layers that lie over each other."""
    own, others = ([j for row in joints_of(one).values() for j in row] for one in (upper, lower))
    return min(
        (
            abs(one[0] - two[0])
            for one in own
            for two in others
            if min(one[2], two[2]) - max(one[1], two[1]) > 1e-4
        ),
        default=math.inf,
    )


def least_side_offset(lower: LaidLayer, upper: LaidLayer) -> float:
    """Return the smallest distance of the lying edges of two layers."""
    feet = []
    for layer in (lower, upper):
        falls = len(layer.courses) > 1 and layer.courses[-1].high < layer.courses[0].high
        feet.append([c.high if falls else c.low for c in layer.courses[1:]])
    return min((abs(one - two) for one in feet[0] for two in feet[1]), default=math.inf)


# fmt: off
#: Roofs on which a law once failed, each with what made it fail.
KNOWN: tuple[tuple[str, Drawn, Wanted], ...] = (
    ("zones that crossed themselves", (
        (
            Block(id="part0", length=9.0, width=6.0, at=(2.0, 4.5), turn=45.0,
                eave=3.5, pitch=1.0, pitch_back=1 / 48, overhang=(0.3, 0.0),
                base=2.0),
            Block(id="part1", form="mansard", length=10.0, width=8.5, at=(-4.0,
                1.0), turn=30.0, eave=4.0, pitch=1.0, lower_pitch=2.0,
                break_in=2.125, overhang=(0.5, 0.5), base=1.0, open=True),
            Block(id="part2", form="shed", length=10.0, width=2.0, at=(-6.0, 3.0),
                turn=30.0, eave=6.0, pitch=0.75, overhang=(0.5, 0.0), base=1.0),
        ),
        (),
    ), Wanted(
        tables="\n"
        "[site]\n"
        "ice_barrier = true\n"
        'code = "IRC 2021"\n'
        'zones = "1 m"\n'
        "[layout]\n"
        "even_laps = true\n"
        "ridge_vent = true\n",
        assemblies=("single-ply",),
    )),
    ("a side with no plane behind it", (
        (
            Block(id="part0", form="hip", length=9.5, width=6.0, at=(-5.0, 3.5),
                turn=45.0, eave=2.5, pitch=1 / 6, overhang=(0.3, 0.3), base=1.0),
            Block(id="part1", form="mansard", length=6.5, width=5.5, at=(0.0, -1.0),
                turn=17.0, eave=6.0, pitch=1 / 48, lower_pitch=49 / 48,
                break_in=1.375, overhang=(0.3, 0.3), base=1.0, open=True),
        ),
        (
            Cut(kind="pipe", at=(1.152, 0.79), size=(0.3, 0.3), turn=37.0),
        ),
    ), Wanted(
        tables="\n"
        "[site]\n"
        "ice_barrier = true\n"
        "[layout]\n"
        'valley = "closed_cut"\n',
        assemblies=("self-adhered-two-ply", "laminated-shingle", "three-tab",
            "self-adhered-membrane", "mineral-roll", "heat-applied-cap"),
    )),
    ("a zone drawn out along the slope", (
        (
            Block(id="part0", form="shed", length=9.0, width=2.0, at=(4.0, 0.0),
                turn=30.0, pitch=1.0, overhang=(0.5, 0.3), base=2.0),
        ),
        (
            Cut(kind="pipe", at=(5.8236, 1.3415), size=(0.3, 1.5), turn=75.0),
        ),
    ), Wanted(
        tables="\n"
        "[site]\n"
        "ice_barrier = true\n"
        'zones = "asce_7_10"\n'
        "[layout]\n"
        'valley = "closed_cut"\n'
        "even_laps = true\n"
        "ridge_vent = true\n",
        assemblies=("single-ply", "mineral-roll", "mineral-roll"),
    )),
    ("a spike beside a skylight", (
        (
            Block(id="part0", form="gambrel", length=6.0, width=4.5, at=(-2.0,
                -5.5), turn=17.0, eave=2.5, lower_pitch=1.5, break_in=1.125,
                overhang=(0.3, 0.3), open=True),
            Block(id="part1", form="gambrel", length=6.0, width=4.5, at=(-2.0,
                -5.5), turn=17.0, eave=2.5, lower_pitch=1.5, break_in=1.125,
                overhang=(0.3, 0.3), open=True),
        ),
        (
            Cut(kind="skylight", at=(-1.4472, -4.7428), size=(0.3, 1.5), turn=37.0),
        ),
    ), Wanted(
        tables="\n"
        "[site]\n"
        "ice_barrier = true\n"
        'code = "IRC 2021"\n'
        'wind = "high"\n'
        'zones = "asce_7_10"\n'
        "[layout]\n"
        'valley = "closed_cut"\n'
        "ridge_vent = true\n",
        assemblies=("mineral-roll", "self-adhered-two-ply", "laminated-shingle",
            "self-adhered-membrane", "self-adhered-two-ply", "heat-applied-cap"),
    )),
    ("edges that turn by just thirty degrees", (
        (
            Block(id="part0", form="mansard", length=7.0, width=5.5, at=(2.0, 1.0),
                turn=30.0, eave=4.0, pitch=1.0, lower_pitch=2.0, break_in=1.375,
                base=2.0),
            Block(id="part1", form="flat", length=8.0, width=5.0, at=(-3.5, 0.5),
                eave=4.0, pitch=1 / 48, overhang=(0.0, 0.5), base=1.0),
        ),
        (),
    ), Wanted(
        tables="\n"
        "[site]\n"
        'zones = "1 m"\n'
        "[layout]\n"
        "even_laps = true\n"
        "ridge_vent = true\n",
        assemblies=("self-adhered-membrane",),
    )),
    ("a cricket on two like planes", (
        (
            Block(id="part0", form="gambrel", length=9.5, width=7.5, at=(2.0, 3.5),
                turn=45.0, eave=4.0, pitch=1 / 48, lower_pitch=49 / 48,
                break_in=1.875, overhang=(0.5, 0.0), base=1.0),
            Block(id="part1", form="flat", length=9.0, width=7.0, at=(-1.5, -3.0),
                turn=45.0, eave=2.5, pitch=1.0, overhang=(0.5, 0.5)),
            Block(id="part2", form="flat", length=10.0, width=9.5, at=(3.0, 2.5),
                turn=45.0, eave=3.5, pitch=1.0, overhang=(0.3, 0.5), open=True),
        ),
        (
            Cut(kind="skylight", at=(-3.1794, 0.2704), size=(0.3, 0.3), turn=45.0),
            Cut(kind="chimney", at=(2.2045, 5.0633), size=(1.5, 0.3), turn=65.0),
        ),
    ), Wanted(
        tables="\n"
        "[site]\n"
        'wind = "high"\n'
        "[layout]\n"
        "even_laps = true\n",
        assemblies=("single-ply", "three-tab"),
    )),
    ("a corner with a sine of a quarter", (
        (
            Block(id="part0", form="gambrel", length=6.0, width=3.5, at=(-6.0,
                -3.0), turn=270.0, eave=4.0, pitch=1.0, lower_pitch=2.0,
                break_in=0.875, overhang=(0.3, 0.3), base=1.0, open=True),
            Block(id="part1", form="gambrel", length=4.5, width=3.0, at=(-5.0,
                -3.5), eave=2.5, pitch=1.0, lower_pitch=2.0, break_in=0.75,
                overhang=(0.3, 0.0), open=True),
            Block(id="part2", form="shed", length=5.5, width=3.0, at=(0.0, -6.0),
                turn=30.0, eave=4.0, pitch=0.25, overhang=(0.0, 0.5)),
        ),
        (
            Cut(kind="chimney", at=(0.4079, -5.3315), size=(0.3, 1.5), turn=30.0),
        ),
    ), Wanted(
        tables="\n"
        "[site]\n"
        "ice_barrier = true\n"
        'code = "IRC 2021"\n'
        'wind = "high"\n'
        'zones = "asce_7_16"\n'
        "[layout]\n"
        "even_laps = true\n",
        assemblies=("self-adhered-membrane",),
    )),
    ("first courses as good as each other", (
        (
            Block(id="part0", form="mansard", length=8.5, width=2.0, eave=2.5,
                pitch=1 / 48, lower_pitch=49 / 48, break_in=0.5),
        ),
        (
            Cut(kind="chimney", at=(1.0625, 0.25), size=(0.3, 0.3), turn=0.0),
        ),
    ), Wanted(
        tables="",
        assemblies=("self-adhered-membrane",),
    )),
    ("an outline that is its own mirror, its sides not", (
        (
            Block(id="part0", form="hip", length=5.5, width=2.5, at=(-1.5, -4.5),
                turn=90.0, eave=3.5, pitch=0.75),
        ),
        (
            Cut(kind="skylight", at=(-3.25, -0.65), size=(1.5, 1.0), turn=90.0),
        ),
    ), Wanted(
        tables="",
        assemblies=("self-adhered-two-ply", "mineral-roll", "self-adhered-membrane"),
    )),
)
# fmt: on
