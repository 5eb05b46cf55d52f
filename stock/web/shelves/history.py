"""What came and left, as the history of an item and the journal of a day tell it.

The table of what came and left.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import django_tables2 as tables
from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.ledger.documents import (
    Document,
    DocumentKey,
    count_of,
    document_key,
    documents,
    is_undoing,
    takes_back,
)
from stock.ledger.levels import SETTING_KINDS
from stock.measures.conversion import Converter
from stock.models import Movement
from stock.templatetags.words import moment_words
from stock.web.amounts import Amount, tap_for_base
from stock.web.shelves.date_words import use_by_words
from stock.wording.names import person_name

Kind = Movement.Kind
LATEST_MOVEMENTS = 50  # of a history before "Show all entries"
UNDONE = " undone"
UNDONE_WORDS = {
    Kind.COUNTED: gettext_lazy("Count undone"),
    Kind.RECEIVED: gettext_lazy("Delivery undone"),
    Kind.MADE: gettext_lazy("Making undone"),
    Kind.USED: gettext_lazy("Use undone"),
    Kind.WASTED: gettext_lazy("Waste undone"),
    Kind.MOVED: gettext_lazy("Move undone"),
}


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One movement, in words."""

    movement: Movement
    amount: Amount
    document: Document | None
    today: date

    @property
    def is_undone(self) -> bool:
        """Whether it takes back what another movement did."""
        return takes_back(self.movement)

    @property
    def what(self) -> str:
        """What it was: Wasted, spoiled; Moved to freezer; Delivery undone."""
        row = self.movement
        said = row.get_kind_display()
        if self.is_undone:
            undone = _("{said}, undone").format(said=said)
            said = str(UNDONE_WORDS.get(Kind(row.kind), undone))
        if row.waste is not None:
            return f"{said}, {row.waste.get_reason_display().lower()}"
        if row.move is None or self.is_undone:
            return said
        if row.amount_base < 0:
            return _("{said} to {name}").format(said=said, name=row.move.to_place.name)
        return _("{said} from {name}").format(said=said, name=row.move.from_place.name)

    @property
    def document_url(self) -> str | None:
        """The page of what it belongs to, if it has one."""
        return self.document.url if self.document else None

    @property
    def when(self) -> str:
        """The moment in words."""
        return moment_words(self.movement.at, self.today)

    @property
    def who(self) -> str:
        """Who recorded it."""
        return person_name(self.movement.by)

    @property
    def why(self) -> str:
        """What was written beside it, where that says more than its document."""
        return "" if self.document else self.movement.note

    @property
    def lot_words(self) -> str:
        """The lot's code and date, if it has any."""
        lot = self.movement.lot
        dated = use_by_words(lot.use_by, self.today) if lot.use_by else ""
        return ", ".join(words for words in (lot.code, dated) if words)

    @property
    def heading(self) -> str:
        """What it belongs to, in words; the same for all of its movements."""
        words = self.belongs_to
        if not self.is_undone:
            return words
        return _("Undone: {what}").format(what=f"{words[:1].lower()}{words[1:]}")

    @property
    def together(self) -> Hashable:
        """What movements have in common that belong to each other."""
        row = self.movement
        return (row.kind, row.at, row.by_id, row.note, self.heading, self.document)

    @property
    def recorded_words(self) -> str:
        """When it was recorded, where that was on another day than it moved."""
        recorded = self.movement.recorded_at
        if _day(recorded) == _day(self.movement.at):
            return ""
        return _("recorded {moment}").format(moment=moment_words(recorded, self.today))

    @property
    def belongs_to(self) -> str:
        """What it belongs to, in words; the same where it is undone."""
        row = self.movement
        if row.waste is not None:
            return _("Wasted, {reason}").format(
                reason=row.waste.get_reason_display().lower()
            )
        if row.move is not None:
            there, here = row.move.from_place.name, row.move.to_place.name
            return _("Moved from {there} to {here}").format(there=there, here=here)
        if self.document is not None:
            return self.document.words
        said = row.note.removesuffix(UNDONE) if is_undoing(row.key) else row.note
        return row.get_kind_display() if row.kind in SETTING_KINDS or not said else said


def with_document(movements: QuerySet[Movement]) -> QuerySet[Movement]:
    """Read with movements what their rows tell; in the same query."""
    return movements.select_related(
        "item", "place", "lot", "by", "waste", "move__from_place", "move__to_place"
    )


def latest_rows(
    movements: QuerySet[Movement], *, show_all: bool
) -> tuple[list[Movement], bool]:
    """Return the first movements, or all, and whether there are more. One query."""
    told = with_document(movements)
    if show_all:
        return list(told), False
    rows = list(told[: LATEST_MOVEMENTS + 1])
    return rows[:LATEST_MOVEMENTS], len(rows) > LATEST_MOVEMENTS


def history_rows(
    movements: Sequence[Movement], known: Mapping[int, Converter], *, today: date
) -> list[HistoryRow]:
    """Return movements in words, given their items' converters.

    One query for each kind of document that another app keeps.
    """
    keys = {row.pk: document_key(row.key) for row in movements}
    kept = documents({key for key in keys.values() if key is not None})
    return [
        HistoryRow(
            movement=row,
            amount=Amount(row.amount_base, known[row.item_id]),
            document=_own_document(row, today) or _kept(kept, keys[row.pk]),
            today=today,
        )
        for row in movements
    ]


def _kept(
    kept: dict[DocumentKey, Document], key: DocumentKey | None
) -> Document | None:
    return kept.get(key) if key is not None else None


def _own_document(row: Movement, today: date) -> Document | None:
    """Return the document of this app that a movement belongs to, if it is of one."""
    if row.waste_id is not None:
        return Document(_("Waste"), f"{reverse('stock:waste')}?done={row.waste_id}")
    if row.move_id is not None:
        return Document(_("Move"), f"{reverse('stock:moves')}?done={row.move_id}")
    count_id = count_of(row)
    if count_id is None:
        return None
    url = reverse("stock:count_review", args=[count_id])
    return Document(
        _("Count, {moment}").format(moment=moment_words(row.at, today)), url
    )


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()


class MovementsTable(tables.Table):
    """What came and left, latest first."""

    when = tables.Column(gettext_lazy("When"), attrs={"td": {"class": "day"}})
    what = tables.Column(
        gettext_lazy("What"), linkify=lambda record: record.document_url
    )
    amount = tables.Column(gettext_lazy("Quantity"))
    place = tables.Column(gettext_lazy("Place"), accessor="movement__place")
    lot_words = tables.Column(gettext_lazy("Lot"), default="")
    who = tables.Column(gettext_lazy("Who"), default="")
    why = tables.Column(
        gettext_lazy("Why"), default="", attrs={"td": {"class": "words"}}
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("Nothing has been recorded yet.")

    def __init__(self, rows: Iterable[HistoryRow], *, caption: str) -> None:
        super().__init__(rows)
        self.caption = caption

    def render_amount(self, value: Amount) -> SafeString:
        """Return what came or left, the base figure one tap away."""
        return tap_for_base(value.difference_words, value)
