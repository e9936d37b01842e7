"""A plane made ready, and the layers to be laid on it: what each covers, which way it runs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import shapely

from roof3d.catalog.laying import Border, Layer
from roof3d.catalog.material import Material, MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.errors import LayoutError
from roof3d.layout.borders.extent import cut_away, extent_of
from roof3d.layout.borders.ice import IceRule, without_ice
from roof3d.layout.model import Direction, Side
from roof3d.layout.zones import Zoned
from roof3d.roof.model import Plane
from roof3d.tolerance import Tolerance

MOST_PIECES: Final = 5_000_000
"""More than the largest roofs take: told before they are laid, for they would fill the memory."""

_LAID_OUT = (MaterialForm.SHEET, MaterialForm.SHINGLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A plane made ready for its layers.

    ``ice`` is None where no ice barrier is asked for. ``valleys`` says of each closed-cut
    valley, by its edge, how the shingles of this plane end there. ``from_far``: every layer
    starts at the side of greatest ``u``. ``spare``: so much of the last shingle course lies
    under the ridge pieces that it need not be laid for it alone.
    """

    plane: Plane
    outline: shapely.Polygon
    sides: tuple[Side, ...]
    zones: Zoned | None
    ice: IceRule | None
    valleys: Mapping[str, Border]
    from_far: bool = False
    spare: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A layer to be laid: its number in the assembly, its material, what it covers.

    ``top``: nothing of the assembly lies over it.
    """

    plane: str
    number: int
    layer: Layer
    material: Material
    extent: shapely.Geometry
    direction: Direction
    side_lap: float
    end_lap: float
    first: float
    top: bool = False

    @property
    def id(self) -> str:
        """Id of the layer that it becomes."""
        return f"{self.plane}/{self.layer.role.replace(' ', '-')}"

    @property
    def doubled(self) -> bool:
        """Whether it laps by half or more, so that every point lies under two sheets."""
        return 2.0 * self.side_lap >= self.material.width

    def range(self) -> tuple[float, float]:
        """Return its extent in the stacking direction."""
        axis = 1 if self.direction is Direction.ACROSS else 0
        bounds = self.extent.bounds
        return bounds[axis], bounds[axis + 2]


def list_tasks(
    ground: Ground, assembly: Assembly, catalog: Catalog, tol: Tolerance
) -> Iterator[Task]:
    """Yield what is to be laid on a plane, bottom up.

    Raises
    ------
    LayoutError
        Where a layer would take more pieces than any roof does.
    """
    slope = ground.plane.slope
    layers = assembly.layers_at(slope, tol=tol)
    for number, layer in enumerate(layers, 1):
        material = catalog.material(layer.material)
        if material.form not in _LAID_OUT or (layer.ice_only and ground.ice is None):
            continue
        extent = _extent(ground, layer, material, tol)
        if extent.is_empty:
            continue
        along = slope >= layer.along_from - tol.slope
        shingle = material.form is MaterialForm.SHINGLE
        side_lap = material.width - material.exposure if shingle else material.side_lap
        task = Task(
            plane=ground.plane.id,
            number=number,
            layer=layer,
            material=material,
            extent=extent,
            direction=Direction.ALONG if along else Direction.ACROSS,
            side_lap=max(layer.side_lap, side_lap),
            end_lap=0.0 if shingle else max(layer.end_lap, material.end_lap),
            first=layer.first * material.width,
            top=number == len(layers),
        )
        _refuse_too_many(task)
        yield task


def _refuse_too_many(task: Task) -> None:
    """Refuse pieces so small, or laps so wide, that they could not be set out."""
    shown = task.material.width - task.side_lap, task.material.length - task.end_lap
    if min(shown) <= 0.0:
        return  # laps that leave nothing are told where they are laid
    pieces = task.extent.area / (shown[0] * shown[1])
    if pieces > MOST_PIECES:
        raise LayoutError(
            f"would take some {pieces:.2g} pieces of {task.material.name!r}, of which "
            f"{shown[0]:.3g} m by {shown[1]:.3g} m show",
            where=f"layers[{task.id}]",
            hint=f"at most {MOST_PIECES:,} are set out: look at its size and laps",
        )


def _extent(ground: Ground, layer: Layer, material: Material, tol: Tolerance) -> shapely.Geometry:
    """Return what a layer covers: the outline moved side by side, parted at the ice line."""
    listed = {border for border, _ in layer.reach}
    own = [
        replace(side, border=end)
        if (end := ground.valleys.get(side.edge)) in listed and end is not None
        else side
        for side in ground.sides
    ]
    turned = material.form is MaterialForm.SHEET
    extent = extent_of(ground.outline, own, layer, cut_corners=turned, tol=tol)
    if ground.ice is None or not (layer.ice_only or layer.after_ice > 0.0):
        return extent
    above = without_ice(
        extent,
        ground.outline,
        ground.sides,
        ground.plane.slope,
        ground.ice,
        layer.after_ice,
        tol=tol,
    )
    if not layer.ice_only:
        return above
    return cut_away(extent, [[above]], tol=tol)
