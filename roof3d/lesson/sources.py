"""Where the sizes of a layer come from, one line a source."""

from __future__ import annotations

from roof3d.catalog.material import Material
from roof3d.details.model import DetailLayer, Measure

_NAMES = {
    "thickness": "thickness",
    "width": "width",
    "length": "length",
    "exposure": "exposure",
    "side_lap": "side lap",
    "end_lap": "end lap",
    "selvage": "selvage",
    "stagger": "stagger",
    "side_offset": "offset of side laps",
    "end_offset": "offset of end laps",
    "rate": "rate",
    "standard": "material standard",
}
"""What a trainer may be asked for the source of; how it is packed is not."""


def source_lines(
    layer: DetailLayer, material: Material | None, measures: tuple[Measure, ...]
) -> tuple[str, ...]:
    """Return the sources of a layer's sizes and of what is measured of it.

    Parameters
    ----------
    layer : DetailLayer
    material : Material or None
        The catalog's, where the layer has one.
    measures : tuple of Measure
        Of that layer.

    Returns
    -------
    tuple[str, ...]
        ``lap 4 in: UFGS-07550`` for what is measured, then the material's own values; each
        source once.
    """
    said: dict[str, list[str]] = {}
    for measure in measures:
        said.setdefault(measure.source, []).append(measure.text)
    lines = [f"{', '.join(texts)}: {source}" for source, texts in said.items()]
    if material is None or layer.source != material.source:
        return tuple(lines) if layer.source in said else (*lines, layer.source)
    by_source: dict[str, list[str]] = {}
    for value, source in material.sources:
        if value in _NAMES:
            by_source.setdefault(source, []).append(_NAMES[value])
    lines += [f"{', '.join(names)}: {source}" for source, names in by_source.items()]
    return tuple(lines)
