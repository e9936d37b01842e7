"""Strips that the assemblies ask for: each that is left out is told, and no other."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from roof3d.errors import Severity
from roof3d.laps.laid.gaps import find_gaps, find_short_laps
from roof3d.laps.layout import check_layout
from roof3d.project import build
from roof3d.spec.read import parse_spec
from tests.unit.laps.wrong_builds import ASSEMBLIES, CATALOG, MODELS, project_of

if TYPE_CHECKING:
    from roof3d.laps.laid.gaps import Gap
    from roof3d.layout.model import LaidStrip
    from roof3d.project import Project

SHIPPED = sorted(path.stem for path in MODELS.glob("*.toml"))


def _gaps(project: Project, strips: tuple[LaidStrip, ...]) -> list[Gap]:
    return list(find_gaps(project.strips_asked, strips))


def _without(project: Project, strip_id: str) -> tuple[LaidStrip, ...]:
    left = tuple(strip for strip in project.layout.strips if strip.id != strip_id)
    assert len(left) == len(project.layout.strips) - 1
    return left


def _missed(project: Project) -> list[str]:
    """Drop one strip after the other; return those of which not that very strip is told."""
    strips = project.layout.strips
    missed = []
    for k, strip in enumerate(strips):
        told = [
            (g.asked.edge, g.asked.rule.id) for g in _gaps(project, strips[:k] + strips[k + 1 :])
        ]
        if told != [(strip.edge, strip.rule)]:
            missed.append(strip.id)
    return missed


@pytest.mark.parametrize("model", SHIPPED)
def test_every_strip_left_out_is_told(model: str) -> None:
    """As the models choose their assemblies; a right build lacks none."""
    project = project_of(model)
    assert _gaps(project, project.layout.strips) == []
    assert _missed(project) == []
    assert list(find_short_laps(project.strips_asked, project.layout.strips)) == []


@pytest.mark.heavy
@pytest.mark.parametrize("assembly", ASSEMBLIES)
@pytest.mark.parametrize("model", SHIPPED)
def test_every_strip_of_every_assembly_left_out_is_told(model: str, assembly: str) -> None:
    """The same assembly on every plane."""
    project = project_of(model, assembly)
    assert _gaps(project, project.layout.strips) == []
    assert _missed(project) == []
    assert list(find_short_laps(project.strips_asked, project.layout.strips)) == []


def test_what_is_asked_is_asked_of_the_roof_alone() -> None:
    """Nothing is laid out for it."""
    path = MODELS / "lantern-street.toml"
    project = build(parse_spec(path.read_text(encoding="utf-8"), source=path.name))
    asked = {(one.edge, one.rule.id) for one in project.strips_asked}
    assert "layout" not in vars(project)
    assert {
        ("porch.eave", "edge-metal"),
        ("porch.rake", "edge-metal"),
        ("main.eave", "starter"),
        ("main.eave", "drip-edge"),
    } <= asked
    assert ("porch.eave", "starter") not in asked


def test_metal_left_out_at_an_eave_is_told_with_length_and_place() -> None:
    """The whole eave of the porch, 20 ft and 8 in past either end by the model, at its middle."""
    project = project_of("lantern-street")
    edge = project.roof.edge("porch.eave")
    strips = _without(project, "porch.eave/edge-metal")
    layout = replace(project.layout, strips=strips)
    found = check_layout(layout, CATALOG, asked=project.strips_asked)
    (told,) = (one for one in found if one.code == "R3D-LAP-LEFT-OUT")
    assert told.severity is Severity.ERROR
    assert told.where == "edges[porch.eave], strips[porch.eave/edge-metal]"
    assert "21' 4\" of 21' 4\" is missing" in told.message
    assert told.at == pytest.approx([(a + b) / 2.0 for a, b in zip(*edge.ends, strict=True)])
    assert "lay edge-metal there" in told.message


def test_a_piece_left_out_of_a_row_is_told_where_it_lacks() -> None:
    """What the pieces beside it do not cover: its length less both laps, at its middle."""
    project = project_of("tide-house")
    strip = max(
        (one for one in project.layout.strips if one.rule == "drip-edge"),
        key=lambda one: len(one.pieces),
    )
    low, high = strip.pieces[1]
    short = replace(strip, pieces=np.delete(strip.pieces, 1, axis=0))
    others = tuple(one for one in project.layout.strips if one is not strip)
    (gap,) = _gaps(project, (*others, short))
    before, after = strip.pieces[0][1], strip.pieces[2][0]
    assert gap.missing == pytest.approx(after - before)
    assert low < before < after < high
    ends = np.array(project.roof.edge(strip.edge).ends)
    place = ends[0] + (before + after) / 2.0 / strip.length * (ends[1] - ends[0])
    assert gap.at == pytest.approx(place)


def test_a_joint_of_a_coping_without_its_plate_is_told() -> None:
    """One plate taken out of those along a parapet."""
    project = project_of("alder-row")
    strip = max(
        (one for one in project.layout.strips if one.rule == "coping-plate"),
        key=lambda one: len(one.pieces),
    )
    short = replace(strip, pieces=strip.pieces[1:])
    others = tuple(one for one in project.layout.strips if one is not strip)
    (gap,) = _gaps(project, (*others, short))
    assert (gap.asked.edge, gap.asked.rule.id) == (strip.edge, "coping-plate")


@pytest.mark.parametrize("lap", [0.0, 0.5])
@pytest.mark.parametrize("rule", ["valley-metal", "drip-edge", "hip-ridge", "step-flashing"])
def test_a_piece_that_laps_the_next_too_little_is_told(rule: str, lap: float) -> None:
    """Cut to a share of its lap: the very place, and how much of how much."""
    project = project_of("plum-corner")
    strip = next(one for one in project.layout.strips if one.rule == rule and len(one.pieces) > 2)
    pieces = strip.pieces[strip.pieces[:, 0].argsort()]
    pieces[0, 1] = pieces[1, 0] + lap * strip.lap
    cut = replace(strip, pieces=pieces)
    others = tuple(one for one in project.layout.strips if one is not strip)
    (told,) = find_short_laps(project.strips_asked, (*others, cut))
    assert (told.asked.edge, told.asked.rule.id, told.count) == (strip.edge, rule, 1)
    assert told.reached == pytest.approx(lap * strip.lap)
    ends = np.array(project.roof.edge(strip.edge).ends)
    place = ends[0] + pieces[1, 0] / strip.length * (ends[1] - ends[0])
    assert told.at == pytest.approx(place)
    layout = replace(project.layout, strips=(*others, cut))
    found = check_layout(layout, CATALOG, asked=project.strips_asked)
    where = f"edges[{strip.edge}], strips[{strip.id}]"
    (one,) = (f for f in found if (f.code, f.where) == ("R3D-LAP-SHORT-LAP", where))
    assert one.severity is (Severity.CAUTION if lap else Severity.ERROR)


def test_what_goes_round_a_drain_or_pipe_is_told_where_no_piece_is_of_it() -> None:
    """A strip without pieces is none."""
    project = project_of("alder-row")
    rules = []
    for strip in project.layout.strips:
        bare = replace(strip, pieces=strip.pieces[:0])
        told = _gaps(project, tuple(bare if s is strip else s for s in project.layout.strips))
        assert (strip.edge, strip.rule) in [(g.asked.edge, g.asked.rule.id) for g in told]
        rules.append(strip.rule)
    assert {"drain-ply", "drain-lead", "pipe-ply", "pipe-flashing", "scupper-ply"} <= {*rules}
