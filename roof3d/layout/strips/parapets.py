"""What a parapet makes of the strips along it: their length, their width, where joints lie."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from roof3d.catalog.laying import Reach, StripRule
from roof3d.layout.strips.lines import Line
from roof3d.tolerance import DEFAULT, Tolerance

NEVER: Final = "never"
OUTSIDE: Final = "outside"
OVER_WALL: Final = "wall"


def asks_along(rule: StripRule, line: Line, *, tol: Tolerance = DEFAULT) -> bool:
    """Return whether a rule holds along a line, parapet or none.

    Parameters
    ----------
    rule : StripRule
    line : Line
    tol : Tolerance
        Its ``snap`` keeps rounding from crossing a height.
    """
    if line.parapet is None:
        return rule.parapet in {"", NEVER}
    return rule.parapet != NEVER and line.wall > rule.higher_than + tol.snap


def fit_to_parapet(rule: StripRule, line: Line) -> tuple[StripRule, Line]:
    """Return a rule as wide, and its line as long, as the parapet makes them.

    Parameters
    ----------
    rule : StripRule
    line : Line
        Where it holds.

    Returns
    -------
    rule : StripRule
        Wider by what it is carried over: the thickness of the wall, and its height at the
        higher end; its start as much further out.
    line : Line
        Of what lies outside, the outside face.
    """
    if line.parapet is None or not rule.parapet:
        return rule, line
    if rule.over:
        more = line.parapet.thickness + (line.wall if rule.over == OVER_WALL else 0.0)
        start = replace(rule.start, length=rule.start.length - more)
        rule = replace(rule, width=rule.width + more, start=start)
    elif rule.higher_than:
        rule = replace(rule, start=Reach(length=-line.wall / 2.0))
    if rule.parapet == OUTSIDE:
        line = replace(line, length=line.parapet.coping_length)
    return rule, line
