"""Model files as text, made from a few numbers, so that tests enter where a user does."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from roof3d.project import build
from roof3d.spec.read import parse_spec

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from roof3d.project import Project
    from roof3d.roof.model import Edge, Role, Roof

FOOT = 0.3048
INCH = 0.0254
SQUARE_FOOT = FOOT * FOOT


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One section of a model; lengths in ``unit``, slopes as rise over run, turn in degrees."""

    id: str = "house"
    form: str = "gable"
    length: float
    width: float
    at: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0
    eave: float = 3.0
    pitch: float = 0.5
    pitch_back: float | None = None
    lower_pitch: float | None = None
    break_in: float | None = None
    overhang: tuple[float, float] = (0.0, 0.0)
    base: float = 0.0
    open: bool = False

    def text(self, unit: str = "m") -> str:
        """Return the section as it stands in a model file."""

        def measure(value: float) -> str:
            return f'"{value!r} {unit}"'

        def slope(value: float) -> str:
            return f'"{value * 12!r}:12"'

        eave, rake = (measure(value) for value in self.overhang)
        lines = [
            "[[section]]",
            f'id = "{self.id}"',
            f'form = "{self.form}"',
            f"length = {measure(self.length)}",
            f"width = {measure(self.width)}",
            f"at = [{measure(self.at[0])}, {measure(self.at[1])}]",
            f'turn = "{self.turn!r} deg"',
            f"eave = {measure(self.eave)}",
            f"pitch = {slope(self.pitch)}",
            f"overhang = {{ eave = {eave}, rake = {rake} }}",
        ]
        if self.pitch_back is not None:
            lines.append(f"pitch_back = {slope(self.pitch_back)}")
        if self.lower_pitch is not None:
            lines.append(f"lower_pitch = {slope(self.lower_pitch)}")
        if self.break_in is not None:
            lines.append(f"break_in = {measure(self.break_in)}")
        if self.base:
            lines.append(f"base = {measure(self.base)}")
        if self.open:
            lines.append("open = true")
        return "\n".join(lines)


def model_text(blocks: Iterable[Block], *, unit: str = "m", tables: str = "") -> str:
    """Return a whole model file; ``tables`` stand before the sections, single keys first."""
    units = "metric" if unit == "m" else "imperial"
    head = f'schema = 1\nname = "Test house"\nunits = "{units}"\n'
    return "\n\n".join([head + tables, *(block.text(unit) for block in blocks)]) + "\n"


def built(*blocks: Block, unit: str = "m", tables: str = "") -> Project:
    """Build the project of some sections by way of a model file."""
    return build(parse_spec(model_text(blocks, unit=unit, tables=tables), source="test.toml"))


def edges_of(roof: Roof, *roles: Role, plane: str = "") -> list[Edge]:
    """Return the edges of some roles; with ``plane``, those that bound a plane so beginning."""
    return [
        edge
        for edge in roof.edges
        if edge.role in roles and any(name.startswith(plane) for name in edge.planes)
    ]


def total(edges: Sequence[Edge]) -> float:
    """Return the sum of the true lengths."""
    return sum(edge.length for edge in edges)


def plan_total(edges: Sequence[Edge]) -> float:
    """Return the sum of the plan lengths."""
    return sum(edge.plan_length for edge in edges)


def turned(block: Block, degrees: float, shift: tuple[float, float] = (0.0, 0.0)) -> Block:
    """Return the block turned about the zero point, then shifted."""
    sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    x, y = block.at
    return replace(
        block,
        at=(x * cosine - y * sine + shift[0], x * sine + y * cosine + shift[1]),
        turn=block.turn + degrees,
    )


def mirrored(block: Block) -> Block:
    """Return the block as seen in a mirror that swaps east and west."""
    turn = math.radians(block.turn)
    far = (
        block.at[0] + block.length * math.cos(turn),
        block.at[1] + block.length * math.sin(turn),
    )
    return replace(block, at=(-far[0], far[1]), turn=-block.turn)
