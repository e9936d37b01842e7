"""Eave, ridge and pitch of one section: any two give the third, for every form.

Exact fractions throughout, so a pitch worked out from heights is the very number that the
same pitch written down would be.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from roof3d.errors import InvariantError
from roof3d.spec.model import Form
from roof3d.units import Units, exact_length, exact_pitch, format_length, format_pitch

FLAT_PITCH: Final = exact_pitch("1/4:12")
AGREEMENT: Final = exact_length("1/16 in")


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The cross section of a roof from its eave to its ridge.

    Attributes
    ----------
    run : Fraction
        Plan distance over which ``pitch`` rises to the ridge, metres; of a gable with two
        pitches the whole width.
    rise_below : Fraction
        Height gained before that, up to the break of a gambrel or mansard, metres.
    pitch_back : Fraction or None
        The other side of a gable where its pitch differs, rise over run.
    """

    run: Fraction
    rise_below: Fraction = Fraction(0)
    pitch_back: Fraction | None = None

    def rise(self, pitch: Fraction) -> Fraction:
        """Height of the ridge above the eave, metres."""
        if self.pitch_back is None:
            return self.rise_below + pitch * self.run
        both = pitch + self.pitch_back
        return self.run * pitch * self.pitch_back / both if both else Fraction(0)

    def pitch(self, rise: Fraction) -> Fraction | None:
        """Pitch that gains a height; None where no pitch from 0 up does."""
        if self.pitch_back is None:
            pitch = (rise - self.rise_below) / self.run
        else:
            left = self.run * self.pitch_back - rise
            if left <= 0:
                return None
            pitch = rise * self.pitch_back / left
        return pitch if pitch >= 0 else None


def section_profile(
    form: Form,
    *,
    length: Fraction,
    width: Fraction,
    pitch_back: Fraction | None,
    lower_pitch: Fraction,
    break_in: Fraction,
) -> Profile:
    """Return the profile in which a section's pitch works.

    Parameters
    ----------
    form : Form
    length, width : Fraction
        Outside of the walls, metres.
    pitch_back : Fraction or None
        Of a gable, rise over run.
    lower_pitch, break_in : Fraction
        Of a gambrel or mansard, rise over run and metres; ``break_in`` below half the
        narrow side.

    Raises
    ------
    InvariantError
        Of an outline, whose ridge follows from its corners.
    """
    match form:
        case Form.GABLE if pitch_back is not None:
            return Profile(run=width, pitch_back=pitch_back)
        case Form.GABLE:
            return Profile(run=width / 2)
        case Form.HIP:
            return Profile(run=narrow_side(form, length, width) / 2)
        case Form.SHED | Form.FLAT:
            return Profile(run=width)
        case Form.GAMBREL | Form.MANSARD:
            half = narrow_side(form, length, width) / 2
            return Profile(run=half - break_in, rise_below=lower_pitch * break_in)
        case Form.OUTLINE:
            raise InvariantError("an outline has no one profile")


def narrow_side(form: Form, length: Fraction, width: Fraction) -> Fraction:
    """Side whose half the roof climbs over: forms that fall four ways climb from all walls."""
    return min(length, width) if form in {Form.HIP, Form.MANSARD} else width


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """A settled triangle: metres, and rise over run."""

    eave: Fraction
    ridge: Fraction
    pitch: Fraction


def solve_heights(
    profile: Profile,
    *,
    eave: Fraction | None,
    ridge: Fraction | None,
    pitch: Fraction | None,
    units: Units,
) -> Heights:
    """Find the third of eave, ridge and pitch, or check that all three agree.

    Parameters
    ----------
    profile : Profile
    eave, ridge : Fraction or None
        Metres, 0 or more.
    pitch : Fraction or None
        Rise over run, 0 or more.
    units : Units
        For the words of the error.

    Returns
    -------
    Heights
        ``ridge == eave + profile.rise(pitch)`` exactly; where all three were given and
        differ by up to 1/16 in, eave and pitch win.

    Raises
    ------
    ValueError
        If fewer than two are given, if three disagree, or if two leave no third.
    """
    given = {"eave": eave, "ridge": ridge, "pitch": pitch}
    names = [name for name, value in given.items() if value is not None]
    if eave is not None and pitch is not None:
        implied = eave + profile.rise(pitch)
        if ridge is not None and abs(implied - ridge) > AGREEMENT:
            raise ValueError(_disagreement(profile, eave, ridge, pitch, units))
        return Heights(eave=eave, ridge=implied, pitch=pitch)
    if ridge is not None and pitch is not None:
        low = ridge - profile.rise(pitch)
        if low < 0:
            raise ValueError(
                f"ridge {_length(ridge, units)} with pitch {format_pitch(float(pitch))} puts the "
                f"eave at {_length(low, units)}, below the ground"
            )
        return Heights(eave=low, ridge=ridge, pitch=pitch)
    if eave is not None and ridge is not None:
        found = profile.pitch(ridge - eave)
        if found is None:
            raise ValueError(_out_of_reach(profile, eave, ridge, units))
        return Heights(eave=eave, ridge=ridge, pitch=found)
    if not names:
        raise ValueError("needs two of eave, ridge and pitch, and has none")
    others = [name for name in given if name not in names]
    raise ValueError(
        f"needs two of eave, ridge and pitch, and has {names[0]} only: "
        f"add {others[0]} or {others[1]}"
    )


def _disagreement(
    profile: Profile, eave: Fraction, ridge: Fraction, pitch: Fraction, units: Units
) -> str:
    found = profile.pitch(ridge - eave)
    slope = "no pitch at all" if found is None else f"pitch {format_pitch(float(found))}"
    return (
        f"eave {_length(eave, units)}, ridge {_length(ridge, units)} and pitch "
        f"{format_pitch(float(pitch))} do not agree: "
        f"eave and pitch give ridge {_length(eave + profile.rise(pitch), units)}; "
        f"ridge and pitch give eave {_length(ridge - profile.rise(pitch), units)}; "
        f"eave and ridge give {slope}; leave one of them out"
    )


def _out_of_reach(profile: Profile, eave: Fraction, ridge: Fraction, units: Units) -> str:
    lowest = eave + profile.rise_below
    text = f"no pitch leads from eave {_length(eave, units)} to ridge {_length(ridge, units)}"
    if ridge < lowest:
        return f"{text}: the ridge must be at {_length(lowest, units)} or higher"
    back = profile.pitch_back or Fraction(0)
    highest = eave + profile.run * back
    return (
        f"{text}: with pitch_back {format_pitch(float(back))} the ridge stays below "
        f"{_length(highest, units)}"
    )


def _length(metres: Fraction, units: Units) -> str:
    return format_length(float(metres), units)
