"""What the shelves ask for: lots to use first or take off, and how old the count is.

Nothing here needs a plan, so it is shown even when none can be made.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import OuterRef, QuerySet
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.web.page_words import SaidAmount
from stock.conversion import converters
from stock.ledger import levels
from stock.ledger.held import is_held
from stock.models import Balance, Item
from stock.templatetags.words import ago_words, brief_day_words
from stock.web.amounts import Amount
from stock.web.shelves.date_words import is_out_of_date, use_by_words
from stock.web.shelves.taking import source_value

USE_FIRST_DAYS = 3  # far enough to bake with it still, near enough to act on


@dataclass(frozen=True, slots=True)
class UseFirstRow:
    """What is there of one lot in one place."""

    item_id: int
    item_name: str
    amount: SaidAmount
    held: Amount
    place: str
    code: str
    use_words: str
    use_by: str  # the day, in words; blank without one
    last_day: date | None
    is_out: bool
    on_hold: bool
    source: str  # as the form of a waste names it


@dataclass(frozen=True, slots=True)
class CountAge:
    """How old the figures on the shelves are."""

    has_items: bool
    words: str
    never_counted: int
    oldest_name: str = ""
    oldest_words: str = ""


def soon_or_past(today: date) -> QuerySet[Balance]:
    """Return what stands of lots whose last day of use is past or near. No query."""
    until = today + timedelta(days=USE_FIRST_DAYS)
    return Balance.objects.filter(lot__use_by__lte=until)


def lot_rows(balances: QuerySet[Balance], today: date) -> list[UseFirstRow]:
    """Return what there is of some lots, the soonest use-by first. Three queries."""
    found = list(
        balances.filter(amount_base__gt=0)
        .annotate(on_hold=is_held(OuterRef("lot_id")))
        .select_related("item", "place", "lot")
        .order_by("lot__use_by", Lower("item__name"), "place__walk_order", "pk")
    )
    known = converters.converters_for({row.item_id for row in found})
    return [
        UseFirstRow(
            item_id=row.item_id,
            item_name=row.item.name,
            amount=_said(Amount(row.amount_base, known[row.item_id])),
            held=Amount(row.amount_base, known[row.item_id]),
            place=row.place.name,
            code=row.lot.code,
            use_words=use_by_words(row.lot.use_by, today),
            use_by=brief_day_words(row.lot.use_by, today) if row.lot.use_by else "",
            last_day=row.lot.use_by,
            is_out=is_out_of_date(row.lot.use_by, today),
            on_hold=row.on_hold,
            source=source_value(row.place_id, row.lot_id),
        )
        for row in found
    ]


def read_count_age(today: date) -> CountAge:
    """Return how old the count is of what is bought and not retired. Two queries."""
    items = list(
        Item.objects.order_by("name").values_list("pk", "name", "kind", "retired")
    )
    counted_at = levels.last_counted_at_by_item()
    bought = {
        pk: name
        for pk, name, kind, retired in items
        if kind in Item.BOUGHT_KINDS and not retired
    }
    counted = {pk: counted_at[pk] for pk in bought if pk in counted_at}
    if not counted:
        return CountAge(bool(items), _("Nothing was ever counted."), len(bought))
    oldest = min(counted, key=counted.__getitem__)
    newest_words, oldest_words = (
        _ago(at, today) for at in (max(counted.values()), counted[oldest])
    )
    return CountAge(
        has_items=bool(items),
        words=_("Last counted {newest}.").format(newest=newest_words),
        never_counted=len(bought) - len(counted),
        oldest_name=bought[oldest] if oldest_words != newest_words else "",
        oldest_words=oldest_words,
    )


def _said(amount: Amount) -> SaidAmount:
    return SaidAmount(amount.words, amount.base_words)


def _ago(at: datetime, today: date) -> str:
    return ago_words(timezone.localtime(at).date(), today)
