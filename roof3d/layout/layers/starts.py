"""First courses of layers that touch, chosen together, and what must be told of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from roof3d.catalog.laying import Border
from roof3d.errors import Finding, Severity
from roof3d.layout.layers.task import Ground, Task
from roof3d.layout.model import Direction
from roof3d.layout.offsets import (
    Kept,
    Shortfall,
    StartChoice,
    StartRule,
    choose_firsts,
    even_laps,
)
from roof3d.spec.model import RoofSpec
from roof3d.tolerance import Tolerance
from roof3d.units import Units, format_length


def start_group(
    group: list[Task], ground: Ground, spec: RoofSpec, tol: Tolerance
) -> tuple[list[Task], list[Finding]]:
    """Give touching layers the first courses that keep their laps apart.

    Where no cut keeps them apart and the model leaves it open, the laps are widened to one
    exposure, if that does; the model may ask for it, or forbid it.

    Returns
    -------
    list of Task, list of Finding
        The layers with their first courses; what was widened, and what is still not kept.
    """
    wish = spec.layout.even_laps
    usual = [] if wish else group
    even = _evened(group) if wish is not False else []
    choice = _choose(usual or even, ground, tol)
    chosen, findings = usual or even, []
    if usual and even and (short := _worst(choice)) is not None:
        other = _choose(even, ground, tol)
        if _worst(other) is None:
            choice, chosen = other, even
            findings = list(_widened(group, even, short, spec.units, tol))
    findings += [
        say_shortfall(chosen[short.layer], short, spec.units, evened=chosen is even)
        for short in choice.shortfalls
    ]
    started = [
        replace(task, first=first) for task, first in zip(chosen, choice.firsts, strict=True)
    ]
    return started, findings


def _choose(group: list[Task], ground: Ground, tol: Tolerance) -> StartChoice:
    return choose_firsts([_start_rule(task, ground, tol) for task in group], tol=tol)


def _worst(choice: StartChoice) -> Shortfall | None:
    """Return the least distance of side laps that falls short; None where none does."""
    short = [each for each in choice.shortfalls if each.kept is Kept.SIDE_OFFSET]
    return min(short, key=lambda each: each.reached, default=None)


def _widened(
    usual: list[Task], even: list[Task], short: Shortfall, units: Units, tol: Tolerance
) -> Iterator[Finding]:
    for task, wide in zip(usual, even, strict=True):
        if wide.side_lap > task.side_lap + tol.merge:
            yield Finding(
                code="R3D-LAPS-WIDENED",
                severity=Severity.NOTE,
                where=f"layers[{task.id}]",
                message=(
                    f"{task.material.name}: side laps widened from "
                    f"{format_length(task.side_lap, units)} to "
                    f"{format_length(wide.side_lap, units)}, one exposure for all sheets: else "
                    f"laps of touching sheets drift to {format_length(short.reached, units)} of "
                    f"each other up the slope, {format_length(short.wanted, units)} asked "
                    "(even_laps = false under [layout] forbids it)"
                ),
                source=task.material.source_of("side_offset")
                if task.material.side_offset
                else task.layer.source,
            )


def touching(tasks: Sequence[Task]) -> Iterator[list[Task]]:
    """Yield runs of layers each of which keeps its laps off those of the one before."""
    group: list[Task] = []
    for task in tasks:
        bound = task.material.side_offset > 0.0 and not task.doubled
        if group and not (bound and task.direction is group[-1].direction):
            yield group
            group = []
        group.append(task)
    if group:
        yield group


def _evened(group: list[Task]) -> list[Task]:
    laps = even_laps([(task.material.width, task.side_lap) for task in group])
    return [replace(task, side_lap=lap) for task, lap in zip(group, laps, strict=True)]


def _start_rule(task: Task, ground: Ground, tol: Tolerance) -> StartRule:
    low, high = task.range()
    if task.direction is Direction.ALONG and ground.from_far:
        low, high = -high, -low
    return StartRule(
        low=low,
        high=high,
        width=task.material.width,
        lap=task.side_lap,
        first=task.first,
        least_offset=task.material.side_offset,
        clear=tuple(_clear_lines(task, ground, tol)),
    )


def _clear_lines(task: Task, ground: Ground, tol: Tolerance) -> Iterator[tuple[float, float]]:
    """Yield joints that the sheets cross and their laps run along: the sheets bend there."""
    if task.layer.clear <= 0.0 or task.direction is Direction.ALONG:
        return
    for side in ground.sides:
        level = abs(side.end[1] - side.start[1]) <= tol.snap
        if side.border is Border.JOINT_LOWER and level:
            yield (side.start[1] + side.end[1]) / 2.0, task.layer.clear


_KEPT_IN_DATA = {
    Kept.SIDE_OFFSET: "side_offset",
    Kept.END_OFFSET: "end_offset",
    Kept.STAGGER: "stagger",
}


def say_shortfall(task: Task, short: Shortfall, units: Units, *, evened: bool = False) -> Finding:
    """Say which distance the pieces do not keep, by how much, and what would help."""
    value = _KEPT_IN_DATA.get(short.kept)
    advice = (
        "; even_laps = true under [layout] gives the sheets one exposure"
        if short.kept is Kept.SIDE_OFFSET and not evened
        else ""
    )
    kept = "side laps from the joint with shingles" if short.kept is Kept.CLEAR else short.kept
    return Finding(
        code="R3D-LAPS",
        severity=Severity.CAUTION,
        where=f"layers[{task.id}]",
        message=(
            f"{task.material.name}: {kept}: {format_length(short.reached, units)} at the "
            f"nearest, {format_length(short.wanted, units)} asked; no cut keeps it{advice}"
        ),
        source=task.material.source_of(value) if value else task.layer.source,
    )
