"""How wide text is, before any font is loaded: advance widths of the face that is printed."""

from __future__ import annotations

CAPITAL = 0.729
"""Height of a capital over the size of the font."""
LINE_PITCH = 1.85
"""From line to line, in heights of a capital."""
_FIRST = 32
_WIDEST = 1000
"""Thousandths of the font's size, for a letter that the table has not."""
_REGULAR = (
    "318 401 460 838 636 950 780 275 390 390 500 838 318 361 318 337 636 636 636 636 636 "
    "636 636 636 636 636 337 337 838 838 838 531 1000 684 686 698 770 632 575 775 752 "
    "295 295 656 557 863 748 787 603 787 695 635 611 732 684 989 685 611 685 390 337 390 "
    "838 500 500 613 635 550 635 615 352 635 634 278 278 579 278 974 634 612 635 635 411 "
    "521 392 634 592 818 592 592 525 636 337 636 838 "
)
_BOLD = (
    "348 456 521 838 696 1002 872 306 457 457 523 838 380 415 380 365 696 696 696 696 "
    "696 696 696 696 696 696 400 400 838 838 838 580 1000 774 762 734 830 683 683 821 "
    "837 372 372 775 637 995 837 850 733 850 770 720 682 812 774 1103 771 724 725 457 "
    "365 457 838 500 500 675 716 593 716 678 435 716 712 343 343 665 343 1042 712 687 "
    "716 716 493 595 478 712 652 924 645 652 582 712 365 712 838 "
)
_WIDTHS = {
    bold: {chr(_FIRST + k): int(width) for k, width in enumerate(text.split())}
    for bold, text in ((False, _REGULAR), (True, _BOLD))
}


def text_width(text: str, height: float, *, bold: bool = False) -> float:
    """Return the length of a line of text whose capitals have a height, in the same unit.

    Examples
    --------
    >>> round(text_width("18 in", 2.5), 2)
    8.58
    """
    widths = _WIDTHS[bold]
    return sum(widths.get(letter, _WIDEST) for letter in text) / 1000.0 * height / CAPITAL


def break_text(text: str, height: float, room: float, *, bold: bool = False) -> list[str]:
    """Break text into lines no longer than ``room``; a longer word has a line of its own.

    Examples
    --------
    >>> break_text("cap sheet over the flange", 2.0, 30.0)
    ['cap sheet over the', 'flange']
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, height, bold=bold) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def shorten_text(text: str, height: float, room: float, *, bold: bool = False) -> str:
    """Cut a line off, with dots, where it is longer than ``room``."""
    if text_width(text, height, bold=bold) <= room:
        return text
    while text and text_width(text + "...", height, bold=bold) > room:
        text = text[:-1]
    return text.rstrip() + "..."
