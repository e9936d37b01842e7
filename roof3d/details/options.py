"""The lengths that a transition is built by, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from roof3d.layout.joint import INCH, Given, JointRule


@dataclass(frozen=True, slots=True, kw_only=True)
class TransitionOptions:
    """Lengths of a low-to-steep transition; all can be changed, all have a source.

    Attributes
    ----------
    width, low_run, steep_margin, steep_run : Given
        Size of the cut-out: along the break, onto the low plane, onto the steep plane beyond
        the head of the membrane, and, low above steep, down the steep plane.
    joint : JointRule
        How far the membrane is carried up, and how far shingles stay off the break.
    base_start, ply_start, cap_start : Given
        Lower edge, on the low plane, of the sheet that crosses the break.
    base_lap, ply_lap, cap_lap : Given
        Side laps as drawn; never below the material's own.
    base_past, ply_past : Given
        How far base and ply run beyond the head of the cap.
    head_lap : Given
        Ice barrier over the head of the cap, and underlayment over the barrier.
    barrier_width : Given
    bond_band : Given
        Cement under the lower edge of the starter.
    joint_offset : Given
        Least offset between joints of neighbouring courses.
    base_down, ply_down : Given
        Low above steep: how far base and ply turn down over the break.
    under_up : Given
        Low above steep: steep underlayment turned onto the low deck.
    shingle_short : Given
        Low above steep: top course ends this far below the break.
    flange, leg : Given
        Low above steep: edge metal on the low deck and down the steep face.
    cap_margin : Given
        Low above steep: metal left in sight between the break and the cap.
    ply_first, cap_first : Given
        Low above steep: where the first lap of ply and cap begins, inward of the break.
    nail_clear : Given
        No base nails this near the break.
    thickness_factor : float
        On true thickness, for drawing; 1 is true. Wood is never thickened.
    least_thickness : float
        Least drawn thickness of anything but wood, metres; 0 for none.
    """

    width: Given = Given(54.0 * INCH)
    low_run: Given = Given(48.0 * INCH)
    steep_margin: Given = Given(30.0 * INCH)
    steep_run: Given = Given(48.0 * INCH)
    joint: JointRule = JointRule()
    base_start: Given = Given(9.0 * INCH)
    ply_start: Given = Given(30.0 * INCH)
    cap_start: Given = Given(18.0 * INCH)
    base_lap: Given = Given(3.0 * INCH)
    ply_lap: Given = Given(4.0 * INCH)
    cap_lap: Given = Given(4.0 * INCH)
    base_past: Given = Given(6.0 * INCH)
    ply_past: Given = Given(3.0 * INCH)
    head_lap: Given = Given(6.0 * INCH)
    barrier_width: Given = Given(24.0 * INCH)
    bond_band: Given = Given(4.0 * INCH)
    joint_offset: Given = Given(4.0 * INCH)
    base_down: Given = Given(4.0 * INCH)
    ply_down: Given = Given(2.0 * INCH)
    under_up: Given = Given(6.0 * INCH)
    shingle_short: Given = Given(1.0 * INCH)
    flange: Given = Given(4.0 * INCH, "sheet-metal flashing handbooks, 4 in flange")
    leg: Given = Given(6.0 * INCH)
    cap_margin: Given = Given(0.5 * INCH)
    ply_first: Given = Given(10.0 * INCH)
    cap_first: Given = Given(22.0 * INCH)
    nail_clear: Given = Given(3.0 * INCH)
    thickness_factor: float = 1.0
    least_thickness: float = 0.0
