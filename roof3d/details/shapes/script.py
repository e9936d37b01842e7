"""The work as it was done, call by call, so that it can be done again in another order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial, wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar

import shapely

P = ParamSpec("P")
R = TypeVar("R")
_FAR = 100.0


@dataclass(slots=True, eq=False)
class Act:
    """A piece as it is laid, and what belongs to it: its measures, what is joined to it.

    ``cut`` is left out of it and ``shift`` moves it, in (u, s), when it is laid again.
    """

    piece: str
    layer: int
    calls: list[Callable[[], object]]
    cut: shapely.Geometry | None = None
    shift: tuple[float, float] = (0.0, 0.0)


@dataclass(slots=True, eq=False)
class Script:
    """All acts so far.

    Attributes
    ----------
    acts : list[Act]
    fresh : list[Callable[[], None]]
        What must forget before the work is done again.
    busy : bool
        Whether a call is being played or is part of another.
    now : Act or None
        The one that is played.
    """

    acts: list[Act] = field(default_factory=list)
    ahead: list[Callable[[], object]] = field(default_factory=list)
    fresh: list[Callable[[], None]] = field(default_factory=list)
    busy: bool = False
    now: Act | None = None

    def note(self, call: Callable[[], object], piece: str, layer: int, *, ahead: bool) -> None:
        """Keep a call: with the piece laid last, or, if it prepares, with the next."""
        if ahead:
            self.ahead.append(call)
        elif self.acts and self.acts[-1].piece == piece:
            self.acts[-1].calls.append(call)
        else:
            self.acts.append(Act(piece, layer, [*self.ahead, call]))
            self.ahead.clear()


class Recorder(Protocol):
    """What keeps a script of its work."""

    @property
    def script(self) -> Script:
        """Return the script."""
        ...

    def latest(self) -> tuple[str, int]:
        """Return id and layer of the piece laid last; empty where there is none."""
        ...


W = TypeVar("W", bound=Recorder)


def recorded(method: Callable[Concatenate[W, P], R]) -> Callable[Concatenate[W, P], R]:
    """Keep every call of a method that is not part of another one."""
    return _kept(method, ahead=False)


def recorded_ahead(method: Callable[Concatenate[W, P], R]) -> Callable[Concatenate[W, P], R]:
    """Keep every call of a method that prepares for the next piece."""
    return _kept(method, ahead=True)


def _kept(method: Callable[Concatenate[W, P], R], *, ahead: bool) -> Callable[Concatenate[W, P], R]:
    @wraps(method)
    def kept(work: W, /, *args: P.args, **kwargs: P.kwargs) -> R:
        script = work.script
        if script.busy:
            return method(work, *args, **kwargs)
        script.busy = True
        try:
            found = method(work, *args, **kwargs)
        finally:
            script.busy = False
        script.note(partial(method, work, *args, **kwargs), *work.latest(), ahead=ahead)
        return found

    return kept


def moved(area: shapely.Geometry, script: Script) -> shapely.Geometry:
    """Return an outline as the act that is played has it: moved, and without what is left out."""
    act = script.now
    if act is None:
        return area
    if act.shift != (0.0, 0.0):
        area = shapely.transform(area, lambda points: points + act.shift)
    return area if act.cut is None else shapely.difference(area, act.cut)


def as_played(
    script: Script,
    span: tuple[float, float],
    reach: tuple[float, float],
    spans: Sequence[tuple[float, float]],
) -> tuple[tuple[float, float], Sequence[tuple[float, float]]]:
    """Return reach and spans of a piece along the line as the act that is played has them."""
    if script.now is None:
        return reach, spans
    low, high = max(reach[0], -_FAR), min(reach[1], _FAR)
    box = moved(shapely.box(span[0], low, span[1], high), script)
    if box.is_empty:
        return (0.0, 0.0), spans
    _, low, _, high = box.bounds
    along = script.now.shift[0]
    return (low, high), [(a + along, b + along) for a, b in spans]
