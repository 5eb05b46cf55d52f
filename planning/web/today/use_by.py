"""What has to be used soon, once an item, and what it could go into."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import OuterRef, Sum
from django.utils.translation import gettext as _

from planning.models import PlannedCake
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.sentences.words import listed
from planning.web.today.use_first import USE_FIRST_DAYS
from stock.calendar.calendar_words import date_words
from stock.conversion.converters import converters_for
from stock.ledger.held import is_held
from stock.measures.conversion import Converter
from stock.models import Balance
from stock.web.amounts import content_words

PLANNED_DAYS = 14  # cakes of later days are not baked yet when it expires
MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class UseBy:
    """An item of which something expires soon, in a sentence, and what takes it."""

    item_id: int
    words: str  # Use by Fri Dec 11: 3 lb mascarpone
    later: str  # 2 lb more by Sat Dec 12; blank if all of it is as soon
    could: str


def use_by_rows(today: date) -> list[UseBy]:
    """Return what expires within days, the soonest first; one row an item.

    What is expired or on hold is left out. At most six queries.
    """
    until = today + timedelta(days=USE_FIRST_DAYS)
    soon: dict[int, dict[date, Decimal]] = defaultdict(dict)
    rows = (
        Balance.objects.filter(
            amount_base__gt=0, lot__use_by__range=(today, until), item__retired=False
        )
        .exclude(is_held(OuterRef("lot_id")))
        .order_by("lot__use_by", "item__name")
        .values_list("item_id", "lot__use_by")
    )
    for item_id, use_by, total_base in rows.annotate(Sum("amount_base")):
        soon[item_id][use_by] = total_base
    if not soon:
        return []
    could = could_go_into(soon, today)
    known = converters_for(list(soon))
    return [
        UseBy(
            item_id,
            _("Use by {day}: {quantity} {item}").format(
                day=date_words(min(by_day)),
                quantity=content_words(float(by_day[min(by_day)]), known[item_id]),
                item=known[item_id].item_name,
            ),
            _later(by_day, known[item_id]),
            could[item_id],
        )
        for item_id, by_day in soon.items()
    ]


def _later(by_day: Mapping[date, Decimal], converter: Converter) -> str:
    """Return how much more of it expires within days, and by when all of it."""
    first, last = min(by_day), max(by_day)
    if first == last:
        return ""
    rest_base = sum(base for day, base in by_day.items() if day != first)
    return _("{quantity} more by {day}").format(
        quantity=content_words(float(rest_base), converter), day=date_words(last)
    )


def could_go_into(item_ids: Collection[int], today: date) -> dict[int, str]:
    """Return what items could go into, in a sentence each, by item id.

    The planned cakes that contain it come first, one of a kind, the first due; then
    the recipes that take it. Two queries for recipes, one for cakes; none without
    items.
    """
    if not item_ids:
        return {}
    book, cakes = open_book(), _planned_cakes(today)
    return {
        item_id: _could_words(_takers(book, item_id, cakes)) for item_id in item_ids
    }


def _planned_cakes(today: date) -> list[PlannedCake]:
    rows = PlannedCake.objects.filter(
        status__in=PlannedCake.LIVE_STATUSES,
        due_on__range=(today, today + timedelta(days=PLANNED_DAYS)),
    )
    return list(rows.select_related("cake__item"))


def _takers(
    book: RecipeBook, item_id: int, cakes: Collection[PlannedCake]
) -> list[str]:
    """Return the planned cakes, then the recipes, that something could go into."""
    around = book.around(item_id) | {item_id}
    first_due: dict[int, PlannedCake] = {}  # of each kind of cake
    for row in cakes:
        if row.cake_id in around:
            first_due.setdefault(row.cake_id, row)
    takers = {
        taking.recipe_id
        for each in (item_id, *book.parts_of(item_id))
        for taking in book.takers.get(each, ())
    } - first_due.keys()
    planned = [
        _("{cake} ({reference}, {day})").format(
            cake=row.cake.item.name,
            reference=row.reference,
            day=date_words(row.due_on),
        )
        for row in first_due.values()
    ]
    return planned + sorted(_recipe_names(book, takers), key=str.casefold)


def _could_words(names: Sequence[str]) -> str:
    if not names:
        return _("No recipe takes it.")
    return _("Could go into {names}.").format(names=listed(names, MOST_NAMED))


def _recipe_names(book: RecipeBook, recipe_ids: Collection[int]) -> list[str]:
    named = (book.named[recipe_id] for recipe_id in recipe_ids)
    return [each.name for each in named if not each.retired]
