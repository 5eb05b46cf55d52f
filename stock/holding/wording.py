"""What is said of a lot and its hold, by pages and commands alike."""

from stock.calendar.calendar_words import date_words
from stock.models import Lot

NO_LOT = "without lot or date"


def lot_words(lot: Lot) -> str:
    """Return which lot of which item it is. The item is read.

    Butter, lot A, use by Fri May 8, 2026; Flour, without lot or date.
    """
    code = f"lot {lot.code}" if lot.code else ""
    dated = f"use by {date_words(lot.use_by)}, {lot.use_by.year}" if lot.use_by else ""
    named = ", ".join(words for words in (code, dated) if words) or NO_LOT
    name = lot.item.name
    return f"{name[:1].upper()}{name[1:]}, {named}"
