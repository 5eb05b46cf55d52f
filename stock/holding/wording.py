"""What is said of a lot and its hold, by pages and commands alike."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.calendar.calendar_words import date_words
from stock.ledger.sharing import CAME_CODE
from stock.models import Balance, Lot

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


def later_words(lot: Lot) -> str:
    """Return where what comes during a hold goes; blank for other lots than undated."""
    if lot.code or lot.use_by:
        return ""
    return _("What comes later without lot or date is lot {code}.").format(
        code=CAME_CODE
    )


def beside_words(lot: Lot) -> str:
    """Return that what came during a hold stands beside its lot; blank if none is.

    One query for a lot without code and date, else none.
    """
    if lot.code or lot.use_by:
        return ""
    later = Balance.objects.filter(
        lot__item_id=lot.item_id, lot__use_by=None, lot__code__startswith=CAME_CODE
    )
    if not later.exclude(amount_base=0).exists():
        return ""
    return _("What came meanwhile stands beside it as lot {code}.").format(
        code=CAME_CODE
    )
