"""Time of a detail's picture against a bare PyVista window of as many triangles, in the same run.

Run with ``pytest -m timing -s``. Rounds alternate between the two, so that a machine that slows
down slows both; ratios are of the medians. A further picture is held to seconds of the processor.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import roof3d
from roof3d.project import Project
from roof3d.render.explode_picture import ink_picture, set_picture
from roof3d.render.machine import choose_window
from roof3d.scene.detail_scene import detail_places

ROUNDS = 7
MOST_FIRST = 2.5
MOST_FURTHER = 0.5
"""Seconds of the processor."""
FURTHER_ROUNDS = 3
BARE = """
import sys
import pyvista
count, picture = int(sys.argv[1]), sys.argv[2]
mesh = pyvista.Plane(i_resolution=count // 2, j_resolution=1).triangulate()
assert mesh.n_cells == count // 2 * 2
plotter = pyvista.Plotter(off_screen=True, window_size=(1600, 1200))
plotter.add_mesh(mesh)
plotter.show(screenshot=picture)
"""


def seconds(*arguments: str | Path) -> float:
    """Wall time of one Python process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *map(str, arguments)], check=True, capture_output=True)
    return time.perf_counter() - start


def bare_seconds(triangles: int, folder: Path) -> float:
    """Wall time of a process that shows so many triangles in PyVista's own window."""
    return seconds("-c", BARE, str(triangles), folder / "bare.png")


@pytest.mark.timing
def test_the_first_picture_takes_at_most_two_and_a_half_times_a_bare_window(
    models: dict[str, Path], tmp_path: Path, record_property: Callable[[str, Any], None]
) -> None:
    choose_window()
    figure = set_picture(roof3d.build(roof3d.load(models["lantern-street"]))).figure
    assert figure is not None
    triangles = sum(len(part.triangles) for part in figure.parts)
    bare, drawn = [], []
    for _ in range(ROUNDS):
        bare.append(bare_seconds(triangles, tmp_path))
        command = ("explode", models["lantern-street"], "-o", tmp_path / "x.png", "--force")
        drawn.append(seconds("-m", "roof3d", *command))
    ratio = statistics.median(drawn) / statistics.median(bare)
    record_property("first", round(ratio, 2))
    print(triangles, statistics.median(bare), statistics.median(drawn), ratio)  # noqa: T201
    assert ratio <= MOST_FIRST


@pytest.mark.timing
def test_a_further_picture_of_every_kind_takes_under_half_a_second(
    models: dict[str, Path], tmp_path: Path, record_property: Callable[[str, Any], None]
) -> None:
    """The bar is on seconds of the processor, those of all threads: load cannot fail it.

    On a machine with nothing else to do the clock shows no more than that.
    """
    choose_window()
    further: dict[str, float] = {}
    bare: list[float] = []
    for name, model in models.items():
        bare.append(bare_seconds(2500, tmp_path))
        project = roof3d.build(roof3d.load(model))
        first_of = {place.kind: place.id for place in reversed(detail_places(project))}
        for kind, place in first_of.items():
            rounds = [_further(project, place) for _ in range(FURTHER_ROUNDS)]
            spent, passed = (min(times) for times in zip(*rounds, strict=True))
            further[f"{name} {kind}"] = spent
            ratio = spent / statistics.median(bare)
            print(f"{name:16s}{kind:20s}{spent:7.3f}{passed:7.3f}{ratio:6.2f}")  # noqa: T201
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"bare {statistics.median(bare):.2f} s, at most {peak:.0f} MB")  # noqa: T201
    record_property("further", {key: round(spent, 3) for key, spent in further.items()})
    record_property("peak_mb", round(peak))
    assert {key: spent for key, spent in further.items() if spent > MOST_FURTHER} == {}


def _further(project: Project, place: str) -> tuple[float, float]:
    """Seconds of the processor, and of the clock, that one picture takes."""
    spent, passed = time.process_time(), time.perf_counter()
    ink_picture(set_picture(project, place))
    return time.process_time() - spent, time.perf_counter() - passed
