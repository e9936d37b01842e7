"""Lay strips along edges and round openings: what each assembly asks for at each border."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from roof3d.catalog.model import Catalog
from roof3d.errors import Finding
from roof3d.layout.model import LaidPlane, LaidStrip
from roof3d.layout.strips.crickets import cricket_jobs
from roof3d.layout.strips.lines import ASTRIDE, Job, Line, Wishes, lines_of
from roof3d.layout.strips.parapets import asks_along, fit_to_parapet
from roof3d.layout.strips.pieces import lay_strip
from roof3d.roof.model import Roof
from roof3d.spec.model import LayoutSpec, SiteSpec
from roof3d.tolerance import DEFAULT, Tolerance
from roof3d.units import Units


def lay_strips(
    laid: Sequence[LaidPlane],
    roof: Roof,
    catalog: Catalog,
    assembly_of: Mapping[str, str],
    site: SiteSpec,
    layout: LayoutSpec,
    *,
    units: Units = Units.IMPERIAL,
    tol: Tolerance = DEFAULT,
) -> tuple[tuple[LaidStrip, ...], tuple[Finding, ...]]:
    """Lay every strip of the roof.

    Across a ridge, hip or valley a strip is laid once. Where its two assemblies name the same
    rule with unlike materials, that of the first in the catalog is laid and a finding tells it;
    where a membrane meets shingles, the shingles' strips are laid.

    Parameters
    ----------
    laid : sequence of LaidPlane
        In the order of ``roof.planes``, with their layers: joints of starters stay away from
        those of the first course.
    roof : Roof
    catalog : Catalog
    assembly_of : mapping of str to str
        Plane id to assembly id, for every plane.
    site : SiteSpec
    layout : LayoutSpec
    units : Units
        Of the findings.
    tol : Tolerance

    Returns
    -------
    strips : tuple[LaidStrip, ...]
        In the order of planes, then edges, then openings, then the assembly's strips. Places
        along a strip count from the first end of its edge, of a side of an opening from its
        lower end; a level one may be laid from its far end.
    findings : tuple[Finding, ...]

    Raises
    ------
    LayoutError
        Where sizes of a rule or material allow no run of pieces.
    CatalogError
        Where the rule values of flashings cannot be read.
    """
    wishes = Wishes(catalog=catalog, site=site, layout=layout, units=units, tol=tol)
    kinds = {plane: catalog.assembly(chosen).kind for plane, chosen in assembly_of.items()}
    strips: dict[tuple[str, ...], list[Job]] = defaultdict(list)
    findings: list[Finding] = []
    for plane in laid:
        crickets, told = cricket_jobs(plane, laid, roof, assembly_of, wishes)
        findings += told
        for job in (*_jobs(plane, roof, kinds, assembly_of, wishes), *crickets):
            strips[_key(job, len(strips))].append(job)
    done = []
    for shared in strips.values():
        strip, told = lay_strip(shared, wishes)
        if len(strip.pieces):  # a coping of one piece has no joint
            done.append(strip)
        findings += told
    return _with_names(done), tuple(findings)


def _jobs(
    plane: LaidPlane,
    roof: Roof,
    kinds: Mapping[str, str],
    assembly_of: Mapping[str, str],
    wishes: Wishes,
) -> Iterator[Job]:
    """Give what the assembly of a plane asks for along each of its lines."""
    assembly = wishes.catalog.assembly(assembly_of[plane.plane.id])
    for line in lines_of(plane, roof, tol=wishes.tol):
        if assembly.kind == "membrane" and _shingles_beyond(line, roof, kinds):
            continue
        for rule in assembly.strips:
            if wishes.ask_along(rule, line) and asks_along(rule, line, tol=wishes.tol):
                fitted, along = fit_to_parapet(rule, line)
                yield Job(line=along, rule=fitted, plane=plane, assembly=assembly)


def _shingles_beyond(line: Line, roof: Roof, kinds: Mapping[str, str]) -> bool:
    """Return whether shingles on one side of a ridge, hip or valley bring its strips."""
    if line.border not in ASTRIDE:
        return False
    return any(kinds[plane] == "shingle" for plane in roof.edge(line.owner).planes)


def _key(job: Job, number: int) -> tuple[str, ...]:
    """Return what the jobs of one strip have in common; the number keeps all others apart."""
    astride = job.line.border in ASTRIDE and not job.line.rim
    if job.rule.each or astride:
        return (job.line.owner, job.rule.id)
    return (job.line.owner, job.rule.id, str(number))


def _with_names(strips: Sequence[LaidStrip]) -> tuple[LaidStrip, ...]:
    """Add the plane where strips of several planes would share an id, then a number."""
    planes: dict[str, set[tuple[str, ...]]] = defaultdict(set)
    for strip in strips:
        planes[strip.id].add(strip.planes)
    taken: dict[str, int] = defaultdict(int)
    named = []
    for strip in strips:
        name = strip.id if len(planes[strip.id]) == 1 else f"{strip.id}/{strip.planes[0]}"
        taken[name] += 1
        named.append(replace(strip, id=f"{name}_{taken[name]}" if taken[name] > 1 else name))
    return tuple(named)
