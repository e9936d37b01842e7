"""Lengths of membrane details that neither catalog nor layout has, each with its source."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.details.model import INCH
from roof3d.layout.joint import Given


@dataclass(frozen=True, slots=True, kw_only=True)
class MembraneOptions:
    """Lengths of membrane details; all can be changed, all have a source.

    Attributes
    ----------
    eave_run, rake_run, wall_run : Given
        Size of the cut-out onto the roof, from an eave, a rake, a wall.
    board : Given
        How much of a fascia or barge board is drawn.
    wall : Given
        How much of a wall is drawn.
    face : Given
        Edge metal down the board.
    lip : Given
        Of the metal at a rake flatter than 1:12, up from the flange.
    bed_edge : Given
        Cement stays this far in from the edge.
    nail_clear : Given
        No base nails this near an edge's bend.
    joint_width, neighbour : Given
        At a joint of three sheets: width of the cut-out along the course, and how much of the
        courses above and below is drawn.
    patch : Given
        Corner patch of ply, each way from the corner.
    patch_round : Given
        Radius of its corners.
    corner_width, corner_run : Given
        Size of the cut-out at an outside corner, along eave and rake.
    """

    eave_run: Given = Given(46.0 * INCH)
    rake_run: Given = Given(26.0 * INCH)
    wall_run: Given = Given(30.0 * INCH)
    board: Given = Given(7.0 * INCH)
    wall: Given = Given(15.0 * INCH)
    face: Given = Given(4.0 * INCH)
    lip: Given = Given(0.75 * INCH)
    bed_edge: Given = Given(0.25 * INCH)
    nail_clear: Given = Given(1.0 * INCH)
    joint_width: Given = Given(36.0 * INCH)
    neighbour: Given = Given(5.0 * INCH)
    patch: Given = Given(6.0 * INCH)
    patch_round: Given = Given(1.0 * INCH)
    corner_width: Given = Given(24.0 * INCH)
    corner_run: Given = Given(20.0 * INCH)
