"""What is said of a lot and its hold, by pages and commands alike."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.calendar.calendar_words import date_words
from stock.models import Lot

NO_LOT = gettext_lazy("without lot or date")


def lot_words(lot: Lot) -> str:
    """Return which lot of which item it is. The item is read.

    Butter, lot A, use by Fri May 8, 2026; Flour, without lot or date.
    """
    code = _("lot {code}").format(code=lot.code) if lot.code else ""
    dated = (
        _("use by {date}, {year}").format(
            date=date_words(lot.use_by), year=lot.use_by.year
        )
        if lot.use_by
        else ""
    )
    named = ", ".join(words for words in (code, dated) if words) or NO_LOT
    name = lot.item.name
    return f"{name[:1].upper()}{name[1:]}, {named}"
