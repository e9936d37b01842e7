"""Arguments and options that several commands share."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import Annotated, TypeAlias

import typer

from roof3d.errors import Fault, SpecError, WriteError

Model: TypeAlias = Annotated[
    Path, typer.Argument(help="Model file (TOML).", metavar="MODEL", show_default=False)
]
Output: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--output",
        "-o",
        help="File to write; a picture is named for its model where this is left out.",
        metavar="FILE",
        show_default=False,
    ),
]
Force: TypeAlias = Annotated[bool, typer.Option("--force", help="Replace a file that is there.")]
Json: TypeAlias = Annotated[
    bool, typer.Option("--json", help="JSON in metres and square metres instead of a table.")
]
Size: TypeAlias = Annotated[
    str, typer.Option("--size", help="Width and height of the picture in pixels.", metavar="WxH")
]

From: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--from",
        help="Where the viewer stands: a wind such as southwest, or degrees clockwise from north.",
        metavar="SIDE",
        show_default=False,
    ),
]

Lift: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--lift",
        help='From layer to layer where exploded, such as "12 in" or "300 mm".',
        metavar="LENGTH",
        show_default=False,
    ),
]
Exaggerate: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--exaggerate",
        help="Factor on the thickness of all but wood, 1 for true. Where left out 4, and at least "
        "1/2 in; in a section 2, and 1/4 in. The drawing states it.",
        metavar="NUMBER",
        show_default=False,
    ),
]
Plain: TypeAlias = Annotated[
    bool, typer.Option("--plain", help="The drawing alone, without text or numbers.")
]
Dark: TypeAlias = Annotated[bool, typer.Option("--dark", help="Light ink on dark paper.")]

Allowance: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--allowance",
        help='Ordered beyond what is in place, for damage and error, such as "5 %"; what the '
        "cutting leaves counts towards it.",
        metavar="SHARE",
        show_default=False,
    ),
]
PriceFile: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--prices",
        help="Your prices: CSV with the columns item (material id), unit, price.",
        metavar="FILE",
        show_default=False,
    ),
]
PriceList: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--price-list",
        help="Write such a file for this roof: each item's id and pack, the prices left for you "
        "to fill in.",
        metavar="FILE",
        show_default=False,
    ),
]
LabourList: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--labour-list",
        help="Write a file of rates for this roof: a row for each kind and pitch, the rates left "
        "for you to fill in.",
        metavar="FILE",
        show_default=False,
    ),
]
LabourFile: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--labour",
        help="Your rates: CSV with kind, from_pitch, from_height, unit, rate.",
        metavar="FILE",
        show_default=False,
    ),
]
Other: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--compare",
        help="Another model, to be set beside the first with the differences.",
        metavar="MODEL",
        show_default=False,
    ),
]

LEAST_SIZE, MOST_SIDE, MOST_RATIO = (640, 480), 6000, 2.5
WINDS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


def parse_view(text: str | None) -> float | None:
    """Read where a viewer stands, in degrees clockwise from north; None where not said.

    Raises
    ------
    SpecError
        If it is neither a wind nor an angle from 0 to 360.

    Examples
    --------
    >>> parse_view("south-west"), parse_view("200"), parse_view(None)
    (225.0, 200.0, None)
    """
    if text is None:
        return None
    word = text.strip().lower().replace("-", "").replace(" ", "")
    if word in WINDS:
        return WINDS.index(word) * 45.0
    if re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", word) and float(word) <= 360.0:
        return float(word)
    fault = Fault(
        where="--from",
        message=f"'{text}' is no side to look from",
        hint=f"one of {', '.join(WINDS)}, or degrees from 0 to 360",
    )
    raise SpecError((fault,), source="command line")


STYLES = ("exploded", "cutaway", "section")
LIFTS_IN, MOST_EXAGGERATED = (1, 60), 20


def parse_style(text: str) -> str:
    """Read how a detail is to be shown.

    Raises
    ------
    SpecError
        If it is none of those there are.

    Examples
    --------
    >>> parse_style("Cutaway")
    'cutaway'
    """
    word = text.strip().lower()
    if word in STYLES:
        return word
    raise _fault("--style", f"'{text}' is no style", f"one of {', '.join(STYLES)}")


def parse_lift(text: str | None) -> float | None:
    """Read a lift between layers, in metres; None where not said.

    Raises
    ------
    SpecError
        If it is no length from 1 to 60 inches.

    Examples
    --------
    >>> parse_lift("12 in"), parse_lift(None)
    (0.3048, None)
    """
    if text is None:
        return None
    from roof3d.units import parse_length

    low, high = LIFTS_IN
    hint = f'a length from {low} in to {high} in, such as "12 in" or "300 mm"'
    try:
        metres = parse_length(text)
    except ValueError:
        raise _fault("--lift", f"'{text}' is no length", hint) from None
    if not parse_length(f"{low} in") <= metres <= parse_length(f"{high} in"):
        raise _fault("--lift", f"'{text}' lifts too far or too little", hint)
    return metres


def parse_exaggeration(text: str | None) -> float | None:
    """Read a factor on thickness; None where not said.

    Raises
    ------
    SpecError
        If it is no number from 1 to 20.

    Examples
    --------
    >>> parse_exaggeration("2.5"), parse_exaggeration(None)
    (2.5, None)
    """
    if text is None:
        return None
    if re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,3})?", text.strip()) and (
        1.0 <= float(text) <= MOST_EXAGGERATED
    ):
        return float(text)
    hint = f"a number from 1, true thickness, to {MOST_EXAGGERATED}"
    raise _fault("--exaggerate", f"'{text}' is no factor on thickness", hint)


def _fault(where: str, message: str, hint: str) -> SpecError:
    return SpecError((Fault(where=where, message=message, hint=hint),), source="command line")


def parse_allowance(text: str | None) -> Decimal:
    """Read an allowance in percent; 0 where none is given.

    Raises
    ------
    SpecError
        If it is no percentage from 0 to 100.

    Examples
    --------
    >>> parse_allowance("5 %"), parse_allowance("7.5%"), parse_allowance(None)
    (Decimal('5'), Decimal('7.5'), Decimal('0'))
    """
    if text is None:
        return Decimal(0)
    found = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9]{1,3})?) ?%", text.strip())
    if found and Decimal(found[1]) <= 100:
        return Decimal(found[1])
    fault = Fault(
        where="--allowance",
        message=f"'{text}' is no allowance",
        hint='a percentage from 0 to 100 with its sign, such as "5 %"',
    )
    raise SpecError((fault,), source="command line")


def parse_size(text: str) -> tuple[int, int]:
    """Read a picture size.

    Parameters
    ----------
    text : str
        Width and height in pixels, ``1600x1200``.

    Returns
    -------
    tuple of int
        Width and height: at least 640 and 480, at most 6000 each, the longer at most 2.5
        times the shorter; else words run into one another.

    Raises
    ------
    SpecError
        If the text is anything else.

    Examples
    --------
    >>> parse_size("1600x1200")
    (1600, 1200)
    """
    found = re.fullmatch(r"([0-9]{1,5})x([0-9]{1,5})", text.strip(), flags=re.IGNORECASE)
    sides = tuple(int(side) for side in found.groups()) if found else ()
    if not _can_be_drawn(sides):
        fault = Fault(
            where="--size",
            message=f"'{text}' is no picture size",
            hint=f"width x height in pixels, at least {LEAST_SIZE[0]}x{LEAST_SIZE[1]}, at most "
            f"{MOST_SIDE} each, the longer side at most {MOST_RATIO:g} times the shorter, such as "
            "1600x1200",
        )
        raise SpecError((fault,), source="command line")
    return sides[0], sides[1]


def _can_be_drawn(sides: tuple[int, ...]) -> bool:
    """Whether the sides are a width and a height at which a picture can be read."""
    return (
        len(sides) == 2
        and all(least <= side <= MOST_SIDE for least, side in zip(LEAST_SIZE, sides, strict=True))
        and max(sides) <= MOST_RATIO * min(sides)
    )


def with_ending(path: Path, endings: tuple[str, ...]) -> Path:
    """Return the path where its ending is one of those that can be written.

    Parameters
    ----------
    path : Path
    endings : tuple of str
        Lower case, with the dot.

    Raises
    ------
    WriteError
        If it is not.
    """
    if path.suffix.lower() not in endings:
        kinds = ", ".join(endings)
        raise WriteError(
            f"the ending must be {'one of ' if len(endings) > 1 else ''}{kinds}",
            where=str(path),
            hint=f"for instance {path.stem or 'house'}{endings[0]}",
        )
    return path
