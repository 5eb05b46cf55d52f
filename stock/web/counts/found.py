"""Something found where the sheet does not list it, as an ordinary form sends it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from stock.calendar.calendars import (
    CalendarTextError,
    is_believable,
    parse_date,
    too_far_away,
)
from stock.conversion.converters import converters_for
from stock.counts.entries import compiled_or_broken, sequence_at
from stock.counts.lines import EntryIn
from stock.counts.tares import tares_by_shelf
from stock.counts.units import counting_units
from stock.errors import MeasureError
from stock.items.items import item_called
from stock.measures.counting_units import with_unit
from stock.measures.reading.spoken import read_spoken
from stock.models import Count, Item, Place
from stock.models.counts import LONGEST_LOT

DEVICE = "page"


@dataclass(slots=True)
class FoundItem:
    """What was typed of it, and what is wrong with that."""

    name: str = ""
    amount: str = ""
    use_by: str = ""
    lot: str = ""
    key: str = ""
    problem: str = ""
    typed: str = ""  # the amount, before it was given its unit


def read_found(sent: Mapping[str, str]) -> FoundItem:
    """Return what a form says was found; without a form, an empty one."""
    found = FoundItem(
        *(
            sent.get(f"extra-{field}", "").strip()
            for field in ("item", "amount", "use-by", "lot", "key")
        )
    )
    found.key = found.key or str(uuid4())
    return found


def found_entry(
    found: FoundItem, count: Count, place: Place, *, at: datetime, by_id: int | None
) -> EntryIn | None:
    """Return the entry; None if nothing was found, or after saying what is wrong."""
    if not (found.name or found.amount):
        return None
    item = item_called(found.name)
    if item is None:
        found.problem = _("No item is called “{name}”. Choose one of the list.").format(
            name=found.name
        )
        return None
    _complete(found, item)
    found.problem = _problem(found, item, place)
    if found.problem:
        return None
    return EntryIn(
        key=UUID(found.key),
        count_id=count.pk,
        place_id=place.pk,
        item_id=item.pk,
        use_by=parse_date(found.use_by) if found.use_by else None,
        lot_code=found.lot,
        text=found.amount,
        entered_at=at,
        by_id=by_id,
        device=DEVICE,
        sequence=sequence_at(at),
        typed=found.typed,
    )


def _complete(found: FoundItem, item: Item) -> None:
    """Give a bare number the item's counting unit, as it stands beside the field."""
    known = compiled_or_broken({item.pk})[0]
    unit = counting_units({item.pk: item}, known).get(item.pk)
    if item.pk in known:
        found.typed = found.amount
        found.amount = with_unit(found.amount, known[item.pk], {}, unit)


def _use_by_problem(use_by: str) -> str:
    if not use_by:
        return ""
    try:
        day = parse_date(use_by)
    except CalendarTextError:
        return _("Use by: “{use_by}” isn't a date. Try 2026-05-12.").format(
            use_by=use_by
        )
    return (
        ""
        if is_believable(day)
        else _("Use by: {too_far_away}").format(too_far_away=too_far_away(day))
    )


def _problem(found: FoundItem, item: Item, place: Place) -> str:
    try:
        UUID(found.key)
    except ValueError:
        return _("This form was sent incomplete. Type it again on this page.")
    if problem := _use_by_problem(found.use_by):
        return problem
    if len(found.lot) > LONGEST_LOT:
        return _("The lot is too long. Write at most {longest_lot} letters.").format(
            longest_lot=LONGEST_LOT
        )
    if not found.amount:
        return _("Write how much there is of {name}.").format(name=item.name)
    shelf = (place.pk, item.pk)
    try:
        read_spoken(
            found.amount,
            converters_for([item.pk])[item.pk],
            tares_by_shelf([shelf])[shelf],
        )
    except MeasureError as error:
        return str(error)
    return ""
