"""How far a membrane is carried up a steep plane, and how far shingles stay off it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from roof3d.spec.model import Rise
from roof3d.tolerance import DEFAULT, Tolerance

INCH: Final = 0.0254
PRACTICE: Final = "common practice, no source"
FOOT_LAP: Final = 6.0 * INCH
"""What lies over the head of a membrane in a valley laps its end by that much: practice."""


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
class JointRule:
    """Lengths that every joint of membrane and shingles keeps.

    Attributes
    ----------
    rise_rule : RiseRule
        ``along_and_up``: at least ``rise_along`` on the slope and ``rise_up`` straight up;
        ``vertical``: ``rise_along`` straight up.
    rise_along, rise_up : Given
    gap, gap_flat : Given
        First course off the joint, and the same where the low plane is flat or snow lies.
    flat_slope : float
        The low plane is flat up to this slope, rise over run.
    snow : bool
    """

    rise_rule: RiseRule = RiseRule.ALONG_AND_UP
    rise_along: Given = Given(18.0 * INCH)
    rise_up: Given = Given(8.0 * INCH, "VA 07 52 16")
    gap: Given = Given(2.0 * INCH)
    gap_flat: Given = Given(4.0 * INCH)
    flat_slope: float = 1.0 / 12.0
    snow: bool = False


def joint_rule(rise: Rise) -> JointRule:
    """Return the rule of joints with the rise read as a model asks for."""
    along = rise is Rise.ALONG
    return JointRule(rise_rule=RiseRule.ALONG_AND_UP if along else RiseRule.VERTICAL)


def membrane_rise(lift_per_length: float, rule: JointRule) -> float:
    """Return how far the cap runs up the steep deck, metres along the slope.

    Parameters
    ----------
    lift_per_length : float
        Height gained per length on the deck square to the joint: the sine of the pitch
        angle where the joint is level. Above 0.
    rule : JointRule

    Examples
    --------
    >>> import math
    >>> sine = math.sin(math.atan(4 / 12))
    >>> round(membrane_rise(sine, JointRule()) / 0.0254, 1)
    25.3
    """
    along, up = rule.rise_along.metres, rule.rise_up.metres
    if rule.rise_rule is RiseRule.VERTICAL:
        return along / lift_per_length
    return max(along, up / lift_per_length)


def first_gap(low_slope: float, rule: JointRule, *, tol: Tolerance = DEFAULT) -> Given:
    """Return how far the first course stays off the joint."""
    flat = low_slope <= rule.flat_slope + tol.slope
    return rule.gap_flat if flat or rule.snow else rule.gap
