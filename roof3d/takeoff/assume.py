"""What the numbers of a take-off rest on, and what it leaves out, in plain words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roof3d.catalog.material import MaterialForm
from roof3d.catalog.model import Assembly, Catalog
from roof3d.layout.model import Layout
from roof3d.spec.model import OpeningKind, RoofSpec
from roof3d.takeoff.model import Item
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import format_pitch, format_temperature


def assume(
    items: Sequence[Item],
    layout: Layout,
    catalog: Catalog,
    spec: RoofSpec,
    *,
    tol: Tolerance = DEFAULT,
) -> Iterator[str]:
    """Tell what the numbers rest on.

    Parameters
    ----------
    items : sequence of Item
        Of the take-off.
    layout : Layout
    catalog : Catalog
    spec : RoofSpec
    tol : Tolerance
        Its ``slope`` keeps rounding from crossing a limit.

    Yields
    ------
    str
        One sentence or two each.
    """
    yield "The deck is taken as sound and is not counted."
    if spec.site.ice_barrier:
        yield f"An ice barrier is counted along the eaves as {spec.site.code} asks."
    else:
        yield (
            "No ice barrier is counted along the eaves: the model does not ask for one. Where the"
            " local code does, write ice_barrier = true under [site]."
        )
    yield from _of_openings(spec)
    yield from _of_cutting(items)
    yield (
        "Sealant is not counted but under the joints of copings, nor is what holds"
        " counterflashing in masonry."
    )
    yield from _of_parapets(layout, spec)
    yield from _of_assemblies(layout, catalog, tol)
    yield from _of_the_day(items, catalog, spec)


def _of_openings(spec: RoofSpec) -> Iterator[str]:
    if spec.openings:
        count = len(spec.openings)
        yield (
            f"{count} opening{'' if count == 1 else 's'} cut out of the layers; what is cut out of"
            " a sheet or shingle there is waste, no other piece is cut from it."
        )
    if any(opening.kind is OpeningKind.SKYLIGHT for opening in spec.openings):
        yield (
            "Flashings of skylights are counted as made on site; a kit that comes with the"
            " skylight replaces them."
        )


def _of_parapets(layout: Layout, spec: RoofSpec) -> Iterator[str]:
    if any(side.parapet > 0.0 for laid in layout.planes for side in laid.sides):
        yield (
            "Of parapets the flashing, the coping with its plates and hook strip are counted;"
            " corner pieces are cut from whole lengths, blocking below the coping and the outside"
            " face are not counted."
        )
    if any(opening.kind is OpeningKind.DRAIN for opening in spec.openings):
        yield "The bowls of drains, their pipes and what sinks the deck round them are not counted."


def _of_cutting(items: Sequence[Item]) -> Iterator[str]:
    cut_from = {item.form for item in items if item.cutting is not None}
    if cut_from:
        yield (
            "Offcuts are used again wherever they are long enough, from plane to plane: keep"
            " them until the roof is done."
        )
    if MaterialForm.SHINGLE in cut_from:
        yield (
            "A shingle cut at a slant is counted as the rectangle around it, and its offcut by"
            " its straight end."
        )
    yield (
        "Packs are ordered whole. Waste is scrap: what is trimmed or ripped off, and offcuts too"
        " short to be used; longer ones and what stays in the last pack are left over."
    )


def _of_assemblies(layout: Layout, catalog: Catalog, tol: Tolerance) -> Iterator[str]:
    on: dict[str, list[float]] = {}
    for laid in layout.planes:
        on.setdefault(laid.assembly, []).append(laid.plane.slope)
    for assembly in catalog.assemblies:
        if assembly.id in on:
            yield from _of_assembly(assembly, max(on[assembly.id]), tol)


def _of_assembly(assembly: Assembly, steepest: float, tol: Tolerance) -> Iterator[str]:
    limit = assembly.special_attachment_above
    if steepest > limit + tol.slope:
        yield (
            f"{assembly.name}: the special attachment above {format_pitch(limit)} is not counted;"
            " nails are counted as below it."
        )
    if assembly.not_counted:
        yield f"{assembly.name}: not counted: {assembly.not_counted}."


def _of_the_day(items: Sequence[Item], catalog: Catalog, spec: RoofSpec) -> Iterator[str]:
    celsius = spec.site.temperature
    if celsius is None:
        return
    names = []
    for item in items:
        band = catalog.material(item.material).band_at(celsius)
        if band is not None and band.primed:
            names.append(item.name)
    if names:
        yield (
            f"At {format_temperature(celsius, spec.units)} the wood or sheet below is primed:"
            f" that primer is not counted ({', '.join(names)})."
        )
