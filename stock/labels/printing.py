"""What a date-marking label printed here says, and the QR code that is read back.

The code names the lot by its row, and its use-by as GS1 does: `1726120391LOT12`, use
by Dec 3, 2026 of lot 12. Identifier 91 is a company's own (GS1 General Specifications,
section 3.9). Digits and capitals alone make a small code, whatever the keyboard layout.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

import segno

QUIET_ZONE = 4  # modules of white around the code: ISO/IEC 18004


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code as one SVG path of dark runs; one unit is one module."""

    size: int  # modules on each side, the quiet zone among them
    path: str


def lot_text(lot_id: int, use_by: date | None) -> str:
    """Return what a label's QR code says of a lot.

    >>> lot_text(12, date(2026, 12, 3))
    '1726120391LOT12'
    """
    dated = f"17{use_by:%y%m%d}" if use_by else ""
    return f"{dated}91LOT{lot_id}"


def qr_code(text: str) -> QrCode:
    """Return a text as a QR code that still reads with 15 % of it unreadable."""
    rows = list(segno.make(text, error="m", micro=False).matrix)
    return QrCode(
        len(rows) + 2 * QUIET_ZONE,
        "".join(
            f"M{x + QUIET_ZONE} {y + QUIET_ZONE}h{run}v1h-{run}z"
            for y, row in enumerate(rows)
            for x, run in _dark_runs(row)
        ),
    )


def opened_use_by(
    opened_on: date, keeps_days: int | None, printed: date | None
) -> date | None:
    """Return the last day of something opened; the day of opening is the first.

    Never later than what the maker printed. None where nobody entered how long it
    keeps once opened: the maker's date is then no answer.

    >>> opened_use_by(date(2026, 4, 1), 7, None)
    datetime.date(2026, 4, 7)
    """
    if keeps_days is None:
        return None
    kept = opened_on + timedelta(days=keeps_days - 1)
    return min(kept, printed) if printed else kept


def _dark_runs(row: bytes | bytearray) -> Iterator[tuple[int, int]]:
    """Return where runs of dark modules of a row begin, and how long they are."""
    at = 0
    for is_dark, modules in groupby(row, bool):
        length = sum(1 for _ in modules)
        if is_dark:
            yield at, length
        at += length
