"""The lengths that details are built by, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.layout.joint import INCH, Given, JointRule


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailOptions:
    """What every detail can be asked for.

    Attributes
    ----------
    width : Given
        Size of the cut-out along the line.
    joint : JointRule
        How far the membrane is carried up, and how far shingles stay off the break.
    thickness_factor : float
        On true thickness, for drawing; 1 is true. Wood is never thickened.
    least_thickness : float
        Least drawn thickness of anything but wood, metres; 0 for none.
    """

    width: Given = Given(54.0 * INCH)
    joint: JointRule = JointRule()
    thickness_factor: float = 1.0
    least_thickness: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TransitionOptions(DetailOptions):
    """Lengths of a low-to-steep transition; all can be changed, all have a source.

    Attributes
    ----------
    low_run, steep_margin, steep_run : Given
        Size of the cut-out: onto the low plane, onto the steep plane beyond the head of the
        membrane, and, low above steep, down the steep plane.
    base_start, ply_start, cap_start : Given
        Lower edge, on the low plane, of the sheet that ends at or crosses the break, where
        the layout does not tell.
    base_lap, ply_lap, cap_lap : Given
        Side laps as drawn; never below the material's own.
    head_lap : Given
        Ice barrier over the head of the cap, and underlayment over the barrier.
    barrier_width : Given
    bond_band : Given
        Cement under the lower edge of the starter.
    joint_offset : Given
        Least offset between joints of neighbouring courses.
    under_up : Given
        Low above steep: steep underlayment turned onto the low deck.
    shingle_short : Given
        Low above steep: top course ends this far below the break.
    flange, leg : Given
        Low above steep: edge metal on the low deck and down the steep face.
    ply_first, cap_first : Given
        Low above steep: where the first lap of ply and cap begins, inward of the break.
    nail_clear : Given
        No base nails this near the break.
    """

    low_run: Given = Given(48.0 * INCH)
    steep_margin: Given = Given(30.0 * INCH)
    steep_run: Given = Given(48.0 * INCH)
    base_start: Given = Given(15.0 * INCH)
    ply_start: Given = Given(30.0 * INCH)
    cap_start: Given = Given(18.0 * INCH)
    base_lap: Given = Given(3.0 * INCH)
    ply_lap: Given = Given(4.0 * INCH)
    cap_lap: Given = Given(4.0 * INCH)
    head_lap: Given = Given(6.0 * INCH)
    barrier_width: Given = Given(24.0 * INCH)
    bond_band: Given = Given(4.0 * INCH)
    joint_offset: Given = Given(4.0 * INCH)
    under_up: Given = Given(6.0 * INCH)
    shingle_short: Given = Given(1.0 * INCH)
    flange: Given = Given(4.0 * INCH, "sheet-metal flashing handbooks, 4 in flange")
    leg: Given = Given(6.0 * INCH)
    ply_first: Given = Given(10.0 * INCH)
    cap_first: Given = Given(22.0 * INCH)
    nail_clear: Given = Given(3.0 * INCH)


def transition_options(options: DetailOptions) -> TransitionOptions:
    """Return options of a transition that keep what was asked of every detail."""
    if isinstance(options, TransitionOptions):
        return options
    return TransitionOptions(
        width=options.width,
        joint=options.joint,
        thickness_factor=options.thickness_factor,
        least_thickness=options.least_thickness,
    )
