"""A layout and a take-off written down by hand: what the writers must bring over unchanged."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import shapely

from roof3d.catalog.material import MaterialForm
from roof3d.errors import Finding, Severity
from roof3d.layout.model import (
    Course,
    Direction,
    LaidLayer,
    LaidPlane,
    LaidStrip,
    Layout,
    Pieces,
    PlaneFrame,
)
from roof3d.roof.model import Plane
from roof3d.takeoff.cost import price_takeoff
from roof3d.takeoff.model import Cutting, Item, Takeoff, Unit, Use
from roof3d.takeoff.prices import parse_labour, parse_prices
from roof3d.units import Units
from roof3d.writers.takeoff.job import Job
from tests.unit.rules.hand_roofs import porch_house

# Hostile names: what a spreadsheet would run, and what breaks a header or a table.
HOSTILE = (
    '=HYPERLINK("http://example.com","x")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "  =1+1",
    "\uff1d1+1",
    'a,b"c\r\nd',
    "http://example.com",
    "{=1+1}",
    "&P of &N [red]",
    "\u00e4\u6c34\U0001f3e0",
)


def hand_layer(plane: Plane, role: str, material: str, boxes: list[list[float]]) -> LaidLayer:
    """Lay whole rectangles across a plane, one a course, with two nails each."""
    columns = np.array(boxes, dtype=float)
    areas = (columns[:, 2] - columns[:, 0]) * (columns[:, 3] - columns[:, 1])
    count = len(boxes)
    return LaidLayer(
        id=f"{plane.id}/{role}",
        plane=plane.id,
        role=role,
        material=material,
        number=1,
        direction=Direction.ACROSS,
        extent=shapely.union_all(shapely.box(*columns.T)),
        width=1.0,
        length=10.0,
        side_lap=0.1,
        end_lap=0.15,
        courses=tuple(
            Course(number=row + 1, low=box[1], high=box[3]) for row, box in enumerate(boxes)
        ),
        pieces=Pieces(
            boxes=columns,
            course=np.arange(1, count + 1),
            place=np.ones(count, dtype=np.int64),
            areas=areas,
            trimmed={},
        ),
        nails=np.zeros((2 * count, 2)),
        fastener="nail",
        least_side_offset=0.3048,
        least_end_offset=math.inf,
        least_stagger=math.inf,
    )


def hand_layout() -> Layout:
    """Three planes: two courses of sheet on the porch, one of shingles on each main plane."""
    south, north, porch = porch_house().planes
    frame = PlaneFrame(
        origin=(0.0, 0.0, 0.0), along=(1.0, 0.0, 0.0), up=(0.0, 1.0, 0.0), normal=(0.0, 0.0, 1.0)
    )
    layers = {
        south: (hand_layer(south, "shingles", "shingle", [[0, 0, 12, 0.3]]),),
        north: (hand_layer(north, "shingles", "shingle", [[0, 0, 12, 0.3]]),),
        porch: (
            hand_layer(porch, "cap", "cap", [[0, 0, 6, 1.0], [0, 0.9, 6, 1.9]]),
        ),
    }  # fmt: skip
    strip = LaidStrip(
        id="porch.eave/edge-metal",
        edge="porch.eave",
        rule="edge-metal",
        material="edge-metal",
        planes=(porch.id,),
        length=6.0,
        width=0.1,
        lap=0.05,
        pieces=np.array([[0.0, 3.0], [2.95, 5.95], [5.9, 6.0]]),
        nails=np.zeros((40, 2)),
        fastener="nail",
    )
    ridge = replace(
        strip, id="main.ridge/cap", edge="main.ridge", rule="cap", planes=(south.id, north.id)
    )
    return Layout(
        planes=tuple(
            LaidPlane(
                plane=plane,
                assembly="hand",
                frame=frame,
                outline=shapely.box(0, 0, 1, 1),
                sides=(),
                layers=laid,
            )
            for plane, laid in layers.items()
        ),
        strips=(strip, ridge),
        findings=(),
    )


def hand_takeoff() -> Takeoff:
    """Every unit and form that an item may have; the arithmetic stands beside each."""
    sheet = Item(
        material="cap",
        name="Granule cap sheet",
        form=MaterialForm.SHEET,
        used=(Use(of="porch.south/cap", net=12.0, pieces=2),),  # 2 x 6 m x 1 m
        unit=Unit.AREA,
        net=12.0,
        waste=8.0,  # 4 m of each roll, less than the shortest
        covered=11.4,  # 6 m x 1.9 m
        ordered=20.0,  # two rolls of 10 m x 1 m
        packs=2,
        pack="roll",
        pack_holds=10.0,
        weight=80.0,
        cutting=Cutting(stock=10.0, patterns=((6.0,), (6.0,)), bound=2, proven=True, shortest=5.0),
        rule="pieces cut from rolls",
        source="UFGS-07550, 3.3.6",
    )
    shingles = Item(
        material="shingle",
        name="Laminated shingle",
        form=MaterialForm.SHINGLE,
        used=(
            Use(of="main.south/shingles", net=600.0, pieces=604),
            Use(of="main.north/shingles", net=603.0, pieces=606),
        ),
        unit=Unit.PIECE,
        net=1203.0,
        waste=10.5,
        left=4.5,
        pack_area=3.0,
        ordered=1218.0,  # 58 bundles of 21
        packs=58,
        pack="bundle",
        pack_holds=21.0,
        weight=58 * 34.0,
        rule="one a place",
        source="common practice, no source",
    )
    metal = Item(
        material="edge-metal",
        name="Edge metal",
        form=MaterialForm.METAL,
        used=(
            Use(of="porch.eave/edge-metal", net=6.1, pieces=3),
            Use(of="main.ridge/cap", net=6.1, pieces=3),
        ),
        unit=Unit.LENGTH,
        net=12.2,
        left=2.8,
        pack_length=3.0,
        ordered=15.0,
        packs=5,
        pack="length",
        pack_holds=3.0,
        cutting=Cutting(
            stock=3.0,
            patterns=((3.0,), (3.0,), (3.0,), (3.0,), (0.1, 0.1)),
            bound=4,
            proven=False,
            shortest=0.3,
        ),
        rule="lengths cut from stock",
        source="",
    )
    primer = Item(
        material="primer",
        name="Primer",
        form=MaterialForm.LIQUID,
        used=(Use(of="porch.eave/edge-metal", net=0.5e-3, pieces=0),),
        unit=Unit.VOLUME,
        net=0.5e-3,
        left=18.5e-3,
        ordered=19e-3,
        packs=1,
        pack="pail",
        pack_holds=19e-3,
        weight=18.5,
        rule="area times rate",
        source="UFGS-07550",
    )
    nails = Item(
        material="nail",
        name="Roofing nail",
        form=MaterialForm.FASTENER,
        used=(
            Use(of="porch.south/cap", net=4.0, pieces=4),
            Use(of="stack", net=80.0, pieces=80),
        ),
        unit=Unit.PIECE,
        net=84.0,
        left=216.0,
        ordered=300.0,
        packs=3,
        pack="box",
        pack_holds=100.0,
        weight=3.0,
        rule="one a point",
        source="common practice, no source",
    )
    loose = Item(
        material="lining",
        name="Valley lining",
        form=MaterialForm.METAL,
        used=(Use(of="main.ridge/cap", net=7.0, pieces=7),),
        unit=Unit.LENGTH,
        net=7.0,
        ordered=7.0,  # no pack is known, so the amount in place
        packs=0,
        pack="",
        pack_holds=0.0,
        rule="in any length",
        source="",
    )
    return Takeoff(
        items=(sheet, shingles, metal, primer, nails, loose),
        assumptions=("Rolls are cut on the ground.",),
        findings=(
            Finding(
                code="R3D-HAND",
                severity=Severity.CAUTION,
                where="planes[porch.south]",
                message="laps of 3 in meet",
                source="UFGS-07550",
            ),
        ),
    )


def hand_job(
    units: Units = Units.IMPERIAL,
    *,
    name: str = "Pear Tree Corner",
    takeoff: Takeoff | None = None,
    prices: str = "",
    labour: str = "",
    allowance: str = "0",
) -> Job:
    """The layout and the take-off above, as a job; prices and rates as their files' text."""
    takeoff = takeoff or hand_takeoff()
    return Job(
        name=name,
        units=units,
        layout=hand_layout(),
        priced=price_takeoff(
            takeoff,
            prices=parse_prices(prices) if prices else None,
            labour=parse_labour(labour) if labour else None,
            planes=porch_house().planes,
            allowance=Decimal(allowance),
        ),
        costed=bool(prices or labour),
        findings=takeoff.findings,
        cautions=("Falls kill: tie on.",),
    )


def hostile_job() -> Job:
    """The same with names that a spreadsheet would run, an item each."""
    takeoff = hand_takeoff()
    items = tuple(
        replace(takeoff.items[0], material=f"m{row}", name=name, rule=name, source=name, pack=name)
        for row, name in enumerate(HOSTILE)
    )
    job = hand_job(name=HOSTILE[0], takeoff=replace(takeoff, items=items, assumptions=HOSTILE))
    return replace(job, cautions=HOSTILE)
