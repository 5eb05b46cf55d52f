"""What an item could go into: planned cakes first, then recipes."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

from django.utils.translation import gettext as _

from planning.models import PlannedCake
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.sentences.words import listed
from stock.calendar.calendar_words import date_words

PLANNED_DAYS = 14  # no more are read: what expires sooner is asked about
MOST_NAMED = 2


def could_go_into(use_by: Mapping[int, date], today: date) -> dict[int, str]:
    """Return what items could go into, in a sentence each, by item id.

    Given by item id: its last day. The planned cakes that contain it and are made up
    to then come first, one of a kind, the first due; then the recipes that take it.
    Two queries for recipes, one for cakes; none without items.
    """
    if not use_by:
        return {}
    book, cakes = open_book(), _planned_cakes(today)
    return {
        item_id: _could_words(
            _takers(book, item_id, [row for row in cakes if _made_on(row) <= last_day])
        )
        for item_id, last_day in use_by.items()
    }


def _planned_cakes(today: date) -> list[PlannedCake]:
    rows = PlannedCake.objects.filter(
        status__in=PlannedCake.LIVE_STATUSES,
        due_on__range=(today, today + timedelta(days=PLANNED_DAYS)),
    )
    return list(rows.select_related("cake__item"))


def _made_on(row: PlannedCake) -> date:
    return row.due_on - timedelta(days=row.cake.lead_days)


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
