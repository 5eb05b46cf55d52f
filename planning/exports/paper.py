"""Which paper an order is printed on, and how much room words take on it.

Lengths are points, 1/72 inch. Widths of letters are those of Arial, to the nearest
group of letters and rather too wide than too narrow: a row that is a little too high
is no harm, words that are cut off are.
"""

from dataclasses import dataclass

POINTS_PER_INCH = 72
# Currencies of the territories that print on US Letter. Source: Unicode CLDR,
# supplemental measurementData, paperSize US-Letter (BZ CA CL CO CR GT MX NI PA PH PR
# SV US VE).
LETTER_CURRENCIES = frozenset(
    (
        *("BZD", "CAD", "CLP", "COP", "CRC", "GTQ", "MXN", "NIO", "PAB", "PHP", "USD"),
        *("VED", "VES"),
    )
)

# In ems. Source: the widths of Helvetica, which Arial shares (a 0.556, A 0.667,
# W 0.944, i 0.222, t 0.278, m 0.833).
NARROW, NARROW_EM = frozenset("iIjlt.,:;'|!/\\()[]f- "), 0.34
WIDE, WIDE_EM = frozenset("mMW@%"), 0.95
CAPITAL_EM, LETTER_EM, OTHER_EM = 0.72, 0.57, 1.0
LAST_LATIN = "\u024f"


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper: its number in a workbook, and its size in points."""

    code: int  # of ECMA-376 part 1, 18.3.1.63, paperSize
    width: float
    height: float


LETTER = Paper(1, 612, 792)
A4 = Paper(9, 595.3, 841.9)


def paper_of(currency: str) -> Paper:
    """Return the paper that is in the printers where a currency is paid."""
    return LETTER if currency in LETTER_CURRENCIES else A4


def text_width(text: str, size: float) -> float:
    """Return about how wide a text stands on one line, in points."""
    return size * sum(_em(letter) for letter in text)


def lines_needed(text: str, *, width: float, size: float) -> int:
    """Return into how many lines words break at a width; at least 1.

    >>> lines_needed("case 36 x 1 lb", width=40, size=10)
    2
    """
    lines, room = 1, width
    for word in text.split():
        wide = text_width(word, size)
        if wide > room and room < width:
            lines, room = lines + 1, width
        while wide > width:  # a word that no line holds is broken anywhere
            lines, wide = lines + 1, wide - width
        room -= wide + size * NARROW_EM
    return lines


def _em(letter: str) -> float:
    if letter in NARROW:
        return NARROW_EM
    if letter in WIDE:
        return WIDE_EM
    if letter > LAST_LATIN:
        return OTHER_EM
    return CAPITAL_EM if letter.isupper() else LETTER_EM
