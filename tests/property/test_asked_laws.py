"""Laws of the strips that are asked for, on random piles of roof sections."""

from __future__ import annotations

from hypothesis import assume, given, settings

from roof3d.errors import RoofError
from roof3d.laps.laid.gaps import find_gaps
from roof3d.tolerance import DEFAULT
from tests.property.layout_models import Drawn, Wanted, any_piles, spec_of, wanted
from tests.property.strategies import EXAMPLES, SETTINGS
from tests.property.test_lap_laws import right_build


@given(any_piles(), wanted())
@settings(SETTINGS, max_examples=EXAMPLES or 15)
def test_each_strip_left_out_is_told_and_no_other(drawn: Drawn, want: Wanted) -> None:
    """None is missing on a right build; whichever is dropped, that very strip is named."""
    try:
        project = right_build(spec_of(drawn, want.tables), want.assemblies)
        strips = project.layout.strips
    except RoofError:
        assume(False)
    asked = project.strips_asked
    assert list(find_gaps(asked, strips)) == []
    for k, strip in enumerate(strips):
        if strip.length <= DEFAULT.snap:
            continue  # an edge of two thousandths, where corners nearly fit
        (gap,) = find_gaps(asked, strips[:k] + strips[k + 1 :])
        assert (gap.asked.edge, gap.asked.rule.id) == (strip.edge, strip.rule)
        assert gap.missing > 0.0
