"""What may be wrong with a delivery at the door, line by line, before it is saved."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial

from django.utils.translation import gettext as _

from planning.errors import DeliveryFault
from planning.models import OrderLine
from planning.orders.orders import MOST_PACKS
from planning.sentences.words import days_words
from stock.calendar.calendar_words import clock_words, date_words
from stock.entry.cells import CellError, Name
from stock.ledger.levels import last_counted_at_by_shelf
from stock.models import Bakery, Item, Lot
from stock.wording.names import capitalized

MOST_LOT_LETTERS = 120
LOT_CODE = Name(max_length=MOST_LOT_LETTERS)
# So many times what was ordered is a slip of the finger: 10 typed for 1.
ASKED_ABOUT_TIMES = 10


@dataclass(frozen=True, slots=True)
class CameLine:
    """What came of one order line, as somebody says at the door."""

    line_id: int
    packs: int
    use_by: date | None = None  # as printed; None: by the item's shelf life
    lot_code: str = ""
    closes: bool = False  # what did not come will not come any more
    confirmed: bool = False  # asked about, and it is so


@dataclass(frozen=True, slots=True)
class Visit:
    """On which day a delivery came, and when that is being said."""

    on: date
    at: datetime
    bakery: Bakery

    @property
    def today(self) -> date:
        """The day on the bakery's clock."""
        return self.at.astimezone(self.bakery.zone).date()


def use_by_of(item: Item, printed: date | None, received_on: date) -> date | None:
    """Return the last day of use: the printed one, or sooner by its shelf life.

    >>> use_by_of(Item(keeps_days=3), None, date(2026, 5, 4))
    datetime.date(2026, 5, 6)
    """
    if item.keeps_days is None:
        return printed
    kept = received_on + timedelta(days=item.keeps_days - 1)
    return min(printed, kept) if printed else kept


def lot_code(typed: str) -> str | None:
    """Return a lot's code as it is stored; None where it cannot be.

    >>> lot_code(" L 7 "), lot_code("L" * 121)
    ('L 7', None)
    """
    try:
        return LOT_CODE.parse(typed)
    except CellError:
        return None


def delivery_faults(
    came: Sequence[CameLine], lines: Mapping[int, OrderLine], visit: Visit
) -> list[DeliveryFault]:
    """Return all that stands against a delivery, and all that has to be asked.

    Two queries at most, however many lines.
    """
    others = _items_by_code(said.lot_code for said in came if said.packs)
    counted_at = last_counted_at_by_shelf() if visit.on < visit.today else {}
    found: list[DeliveryFault] = []
    for said in came:
        line = lines[said.line_id]
        found += _packs_faults(said, line)
        if said.packs:
            found += _place_faults(said, line, visit, counted_at)
            found += _use_by_faults(said, line, visit)
            found += _lot_faults(said, line, others)
    confirmed = {said.line_id for said in came if said.confirmed}
    return [
        fault
        for fault in found
        if not (fault.is_question and fault.line_id in confirmed)
    ]


def _packs_faults(said: CameLine, line: OrderLine) -> Iterator[DeliveryFault]:
    name, fault = line.pack.item.name, partial(DeliveryFault, said.line_id, "packs")
    if not 0 <= said.packs <= MOST_PACKS:
        yield fault(
            capitalized(
                _("{name}: enter from 0 to {most_packs:,} packs.").format(
                    name=name, most_packs=MOST_PACKS
                )
            )
        )
    elif not line.packs_to_come:
        done = "closed" if line.closed else _("received in full")
        yield fault(
            capitalized(
                _("{name} is {done} already. Undo that first, or leave it out.").format(
                    name=name, done=done
                )
            )
        )
    elif said.packs >= ASKED_ABOUT_TIMES * line.packs:
        yield fault(
            capitalized(
                _(
                    "{name}: {packs:,} packs came, but {packs2:,} were ordered. Count "
                    "again, or say that it is so."
                ).format(name=name, packs=said.packs, packs2=line.packs)
            ),
            is_question=True,
        )


def _place_faults(
    said: CameLine,
    line: OrderLine,
    visit: Visit,
    counted_at: Mapping[tuple[int, int], datetime],
) -> Iterator[DeliveryFault]:
    item, fault = line.pack.item, partial(DeliveryFault, said.line_id, "packs")
    if item.place is None:
        yield fault(
            capitalized(
                _("{name} has no place yet. Give it one on its page.").format(
                    name=item.name
                )
            )
        )
        return
    at = counted_at.get((item.pk, item.place.pk))
    if at is None:
        return
    local = at.astimezone(visit.bakery.zone)
    if local.date() >= visit.on:
        yield fault(
            capitalized(
                _(
                    "{name} was counted in {name2} on {date}, {clock}, so the count "
                    "may have this delivery already. If it does, enter 0 and close the "
                    "line; if not, enter it as of today."
                ).format(
                    name=item.name,
                    name2=item.place.name,
                    date=date_words(local),
                    clock=clock_words(local.time()),
                )
            )
        )


def _use_by_faults(
    said: CameLine, line: OrderLine, visit: Visit
) -> Iterator[DeliveryFault]:
    item, fault = line.pack.item, partial(DeliveryFault, said.line_id, "use_by")
    use_by = use_by_of(item, said.use_by, visit.on)
    if use_by is None:
        return
    days_left = (use_by - visit.on).days + 1
    if days_left < 1:
        yield fault(
            capitalized(
                _(
                    "{name}: use by {date} has passed. Read the label again; if it "
                    "says so, don't take it: enter 0."
                ).format(name=item.name, date=date_words(use_by))
            )
        )
    elif days_left < (item.minimum_days_left or 0):
        yield fault(
            capitalized(
                _(
                    "{name}: use by {date} leaves {days}, and it needs {days2}. Refuse "
                    "it and enter 0, or say that you take it."
                ).format(
                    name=item.name,
                    date=date_words(use_by),
                    days=days_words(days_left),
                    days2=days_words(item.minimum_days_left or 0),
                )
            ),
            is_question=True,
        )


def _lot_faults(
    said: CameLine, line: OrderLine, others: Mapping[str, set[tuple[int, str]]]
) -> Iterator[DeliveryFault]:
    item, fault = line.pack.item, partial(DeliveryFault, said.line_id, "lot_code")
    code = lot_code(said.lot_code)
    if code is None:
        yield fault(
            capitalized(
                _(
                    "{name}: this lot can't be read. Type it anew, in "
                    "{most_lot_letters} letters at most."
                ).format(name=item.name, most_lot_letters=MOST_LOT_LETTERS)
            )
        )
        return
    items = others.get(code, set())
    if items and item.pk not in {item_id for item_id, _other in items}:
        names = " and ".join(sorted(name for _other, name in items))
        yield fault(
            capitalized(
                _(
                    "{name}: lot {code} is one of {names}. Read the label again, or "
                    "say that it is so."
                ).format(name=item.name, code=code, names=names)
            ),
            is_question=True,
        )


def _items_by_code(codes: Iterable[str]) -> dict[str, set[tuple[int, str]]]:
    wanted = {lot_code(code) for code in codes} - {"", None}
    found: dict[str, set[tuple[int, str]]] = {}
    if not wanted:
        return found
    lots = Lot.objects.order_by().filter(code__in=wanted)
    for code, item_id, name in lots.values_list("code", "item_id", "item__name"):
        found.setdefault(code, set()).add((item_id, name))
    return found
