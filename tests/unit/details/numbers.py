"""What the catalog says of the planes at a place, number by number, each under its source."""

from __future__ import annotations

from collections import defaultdict

from roof3d.catalog.laying import Border
from roof3d.details.model import size_text
from roof3d.details.site import DetailSite
from roof3d.layout.joint import first_gap, membrane_rise

_FIELDS = ("thickness", "width", "length", "side_lap", "end_lap", "exposure")


def numbers_of(site: DetailSite) -> dict[str, set[float]]:
    """Return the lengths of materials, layers and strips at a place, metres, by their source.

    Of a piece that is bent over a line its half counts too: it is told as so much each side.
    """
    found: dict[str, set[float]] = defaultdict(set)
    joint = site.options.joint
    slopes = [site.roof.plane(name).slope for name in site.place.planes]
    steep = max(slopes)
    sine = steep / (1.0 + steep * steep) ** 0.5
    rises = (0.0, membrane_rise(sine, joint) if sine > 0.0 else 0.0)
    gaps = (0.0, first_gap(min(slopes), joint).metres)
    for plane in site.place.planes:
        assembly = site.assembly(plane)
        strip = site.strip(plane, "cant")
        cant = site.catalog.material(strip.material).width if strip is not None else 0.0
        layers = tuple(site.layers(plane).values())
        names = {layer.material for layer in layers}
        names |= {rule.material for rule in assembly.strips}
        names |= {rule.bed for rule in assembly.strips if rule.bed}
        for name in names:
            made = site.catalog.material(name)
            told = dict(made.sources)
            for field in _FIELDS:
                value = getattr(made, field)
                for source in (told.get(field, made.source), made.source):
                    found[source] |= {value, value / 2.0}
        for layer in layers:
            numbers = {layer.side_lap, layer.end_lap}
            for border in Border:
                numbers |= {layer.reach_at(border, rise=r, gap=g) for r in rises for g in gaps}
            found[layer.source] |= {abs(number) for number in numbers}
            made = site.catalog.material(layer.material)
            if made.side_lap and layer.side_lap > made.side_lap:
                least = size_text(made.side_lap, site.units, least=True)
                source = f"least lap {least}: {made.source_of('side_lap')}; drawn: {layer.source}"
                found[source].add(layer.side_lap)
        for rule in assembly.strips:
            made = site.catalog.material(rule.material)
            width = rule.width or made.width
            up = -rule.start.at(rises[-1], gaps[-1])
            # Of a flashing: what lies on the roof beyond the cant.
            numbers = {width, width / 2.0, up, width - up, width - abs(up) - cant}
            numbers |= {rule.lap, rule.past, rule.bed_width}
            for source in (rule.source, *(source for _, source in made.sources)):
                found[source] |= {abs(number) for number in numbers}
    return found
