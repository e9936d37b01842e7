"""The lengths that a transition is built by, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from roof3d.details.model import INCH, PRACTICE
from roof3d.tolerance import DEFAULT, Tolerance


class RiseRule(StrEnum):
    """How the rise of the membrane up a steep slope is read."""

    ALONG_AND_UP = "along_and_up"
    VERTICAL = "vertical"


@dataclass(frozen=True, slots=True)
class Given:
    """A length in metres and its source."""

    metres: float
    source: str = PRACTICE


@dataclass(frozen=True, slots=True, kw_only=True)
class TransitionOptions:
    """Lengths of a low-to-steep transition; all can be changed, all have a source.

    Attributes
    ----------
    width, low_run, steep_margin, steep_run : Given
        Size of the cut-out: along the break, onto the low plane, onto the steep plane beyond
        the head of the membrane, and, low above steep, down the steep plane.
    rise_rule : RiseRule
        ``along_and_up``: at least ``rise_along`` on the slope and ``rise_up`` straight up;
        ``vertical``: ``rise_along`` straight up.
    rise_along, rise_up : Given
    base_start, ply_start, cap_start : Given
        Lower edge, on the low plane, of the sheet that crosses the break.
    base_lap, ply_lap, cap_lap : Given
        Side laps as drawn; never below the material's own.
    base_past, ply_past : Given
        How far base and ply run beyond the head of the cap.
    head_lap : Given
        Ice barrier over the head of the cap, and underlayment over the barrier.
    barrier_width : Given
    gap, gap_flat : Given
        First course off the break, and the same where the low plane is flat or snow lies.
    flat_slope : float
        The low plane is flat up to this slope, rise over run.
    snow : bool
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
    rise_rule: RiseRule = RiseRule.ALONG_AND_UP
    rise_along: Given = Given(18.0 * INCH)
    rise_up: Given = Given(8.0 * INCH, "VA 07 52 16")
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
    gap: Given = Given(2.0 * INCH)
    gap_flat: Given = Given(4.0 * INCH)
    flat_slope: float = 1.0 / 12.0
    snow: bool = False
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


def membrane_rise(lift_per_length: float, options: TransitionOptions) -> float:
    """Return how far the cap runs up the steep deck, metres along the slope.

    Parameters
    ----------
    lift_per_length : float
        Height gained per length on the deck square to the break: the sine of the pitch
        angle where the break is level. Above 0.

    Examples
    --------
    >>> import math
    >>> sine = math.sin(math.atan(4 / 12))
    >>> round(membrane_rise(sine, TransitionOptions()) / 0.0254, 1)
    25.3
    """
    along, up = options.rise_along.metres, options.rise_up.metres
    if options.rise_rule is RiseRule.VERTICAL:
        return along / lift_per_length
    return max(along, up / lift_per_length)


def first_gap(low_slope: float, options: TransitionOptions, *, tol: Tolerance = DEFAULT) -> Given:
    """Return how far the first course stays off the break."""
    flat = low_slope <= options.flat_slope + tol.slope
    return options.gap_flat if flat or options.snow else options.gap
