"""Short codes of count lines, for typing a paper sheet in: `3-41S`, `3-41S-0512`.

The numbers are the place's and the item's; the letter checks them, so that a wrong
digit or two swapped ones name no line instead of another one. The last four digits
are the month and day of a use-by.
"""

import re
from datetime import date

from stock.counts.lines import LineKey

# Without I, O and U, which pencils turn into 1, 0 and V. Their number is a prime:
# every wrong digit, and every swap of neighbours, changes the letter. The idea is the
# check letter of national identity numbers; the order is the alphabet's.
LETTERS = "ABCDEFGHJKLMNPQRSTVWXYZ"
CODE_PATTERN = re.compile(
    r"\s*(\d{1,18})\s*-\s*(\d{1,18})\s*([A-Z])\s*(?:-\s*(\d\d)(\d\d))?\s*",
    re.IGNORECASE,
)


def line_code(line: LineKey) -> str:
    """Return the code of a line.

    >>> line_code(LineKey(3, 41, date(2026, 5, 12)))
    '3-41S-0512'
    """
    code = f"{line.place_id}-{line.item_id}{_letter(line.place_id, line.item_id)}"
    return f"{code}-{line.use_by:%m%d}" if line.use_by else code


def read_line_code(code: str, *, near: date) -> LineKey | None:
    """Return the line of a code; None where the letter does not fit its numbers.

    A month and day are taken of the year that brings them nearest to `near`.
    """
    match = CODE_PATTERN.fullmatch(code)
    if match is None:
        return None
    place_id, item_id = int(match[1]), int(match[2])
    if match[3].upper() != _letter(place_id, item_id):
        return None
    if match[4] is None:
        return LineKey(place_id, item_id)
    use_by = _nearest(int(match[4]), int(match[5]), near)
    return None if use_by is None else LineKey(place_id, item_id, use_by)


def _letter(place_id: int, item_id: int) -> str:
    return LETTERS[(place_id * 7 + item_id) % len(LETTERS)]


def _nearest(month: int, day: int, near: date) -> date | None:
    days = []
    for year in (near.year - 1, near.year, near.year + 1):
        try:
            days.append(date(year, month, day))
        except ValueError:  # 29 February of another year
            continue
    return min(days, key=lambda each: abs(each - near), default=None)
