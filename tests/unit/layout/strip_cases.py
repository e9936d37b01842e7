"""Planes with their sides, and a small catalog of strips, for tests of what lies along edges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from roof3d.catalog.laying import Border, Layer, Nailing, Reach, StripRule
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import Finding
from roof3d.layout.borders.frame import frame_of, outline_of
from roof3d.layout.borders.sides import sides_of
from roof3d.layout.model import LaidPlane, LaidStrip
from roof3d.layout.strips import lay_strips
from roof3d.roof.model import Kind, Roof
from roof3d.spec.model import LayoutSpec, SiteSpec

INCH = 0.0254
FOOT = 0.3048
SOURCE = "made up for this test"


def material(name: str, form: MaterialForm, **sizes: float) -> Material:
    """A material whose sizes are given in inches."""
    return Material(
        id=name,
        name=name.capitalize(),
        form=form,
        purpose="test",
        source=SOURCE,
        **{size: inches * INCH for size, inches in sizes.items()},  # type: ignore[arg-type]
    )


METAL = MaterialForm.METAL
MATERIALS = (
    material("shingle", MaterialForm.SHINGLE, width=12, length=36, exposure=5, stagger=4),
    material("cap-sheet", MaterialForm.SHEET, width=39.375, length=393.75),
    material("drip-edge", METAL, width=2, length=120, end_lap=2),
    material("edge-metal", METAL, width=4, length=120, end_lap=4),
    material("starter", MaterialForm.STRIP, width=7, length=36, stagger=3),
    material("ridge-piece", MaterialForm.STRIP, width=12, length=12, exposure=5),
    material("other-ridge-piece", MaterialForm.STRIP, width=10, length=12, exposure=6),
    material("vent", METAL, width=12, length=48),
    material("lining", MaterialForm.SHEET, width=36, length=36 * 12, end_lap=6),
    material("valley-metal", METAL, width=24, length=120, end_lap=6),
    material("step", METAL, width=8, length=7, end_lap=2),
    material("apron", METAL, width=10, length=120, end_lap=4),
    material("boot", MaterialForm.UNIT, width=18, length=18),
)


def rule(name: str, of: str, *at: Border, **more: object) -> StripRule:
    """A strip rule."""
    return StripRule(id=name, material=of, at=at, source=SOURCE, **more)  # type: ignore[arg-type]


ROW = Nailing(
    fastener="nail",
    source=SOURCE,
    lap_spacing=12 * INCH,
    lap_start=1 * INCH,
    strip_rows=1,
    strip_first=1 * INCH,
)
FOUR = Nailing(
    fastener="nail",
    source=SOURCE,
    per_piece=4,
    per_piece_wind=6,
    line=1.5 * INCH,
    inset=1 * INCH,
)
SHINGLE_STRIPS = (
    rule("edge-metal", "drip-edge", Border.EAVE, Border.RAKE, nailing=ROW),
    rule("starter", "starter", Border.EAVE, first=30 * INCH, nailing=FOUR),
    rule("valley-lining", "lining", Border.VALLEY),
    rule("valley-metal", "valley-metal", Border.VALLEY, valley="open"),
    rule("vent", "vent", Border.RIDGE, vent=True),
    rule("ridge", "ridge-piece", Border.RIDGE, Border.HIP, extra=1),
    rule("step", "step", Border.SIDEWALL, Border.OPENING_SIDE, per_course=True),
    rule("apron", "apron", Border.HEADWALL, Border.OPENING_FOOT),
    rule("back-pan", "apron", Border.OPENING_HEAD),
    rule("pipe", "boot", Border.PIPE, each=True),
    rule("joint-starter", "starter", Border.JOINT_UPPER, first=30 * INCH, start=Reach(gap=1)),
)
MEMBRANE_STRIPS = (
    rule(
        "edge-metal",
        "edge-metal",
        *(Border.EAVE, Border.RAKE, Border.RIDGE),
        bed="roof-cement",
        bed_width=4 * INCH,
        primer="primer",
        primed_faces=2,
    ),
    rule("ice", "lining", Border.EAVE, ice_only=True),
    rule("pipe", "boot", Border.PIPE, each=True, primer="primer", primed_faces=2),
)


def assembly(name: str, kind: str, top: str, strips: Sequence[StripRule]) -> Assembly:
    """An assembly of one layer."""
    role = "shingles" if kind == "shingle" else "cap"
    return Assembly(
        id=name,
        name=name,
        kind=kind,
        least_slope=0.0,
        most_slope=99.0,
        slope_source=SOURCE,
        layers=(Layer(material=top, role=role, fastening="", source=SOURCE),),
        strips=tuple(strips),
    )


SHINGLES = assembly("shingles", "shingle", "shingle", SHINGLE_STRIPS)
OTHER = assembly(
    "other-shingles",
    "shingle",
    "shingle",
    [replace(r, material="other-ridge-piece") if r.id == "ridge" else r for r in SHINGLE_STRIPS],
)
MEMBRANE = assembly("membrane", "membrane", "cap-sheet", MEMBRANE_STRIPS)
CATALOG = Catalog(materials=MATERIALS, assemblies=(MEMBRANE, SHINGLES, OTHER))


def by_kind(roof: Roof) -> dict[str, str]:
    """Shingles on steep planes, the membrane on low ones."""
    return {
        plane.id: SHINGLES.id if plane.kind is Kind.STEEP else MEMBRANE.id for plane in roof.planes
    }


def bare_planes(
    roof: Roof, assembly_of: Mapping[str, str], catalog: Catalog = CATALOG
) -> tuple[LaidPlane, ...]:
    """Every plane with its sides and no layer."""
    kinds = {name: catalog.assembly(chosen).kind for name, chosen in assembly_of.items()}
    laid = []
    for plane in roof.planes:
        frame = frame_of(plane)
        laid.append(
            LaidPlane(
                plane=plane,
                assembly=assembly_of[plane.id],
                frame=frame,
                outline=outline_of(plane, frame),
                sides=sides_of(roof, plane, frame, kinds, {}),
                layers=(),
            )
        )
    return tuple(laid)


def strips_of(
    roof: Roof,
    assembly_of: Mapping[str, str] | None = None,
    *,
    catalog: Catalog = CATALOG,
    site: SiteSpec | None = None,
    layout: LayoutSpec | None = None,
) -> tuple[dict[str, LaidStrip], tuple[Finding, ...]]:
    """Strips by id, and findings, of a roof on whose planes no layer lies."""
    chosen = assembly_of or by_kind(roof)
    strips, findings = lay_strips(
        bare_planes(roof, chosen, catalog),
        roof,
        catalog,
        chosen,
        site or SiteSpec(),
        layout or LayoutSpec(),
    )
    assert len({strip.id for strip in strips}) == len(strips)
    return {strip.id: strip for strip in strips}, findings
