"""After a count is posted: what changed, how near the record was, how long it took."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from stock.conversion.converters import converters_for
from stock.counts.history import (
    Accuracy,
    CounterTime,
    CountOutcome,
    Questions,
    accuracy_over_time,
    outcome,
)
from stock.counts.undoing import in_the_way
from stock.measures.conversion import Converter
from stock.models import Count, CountDecision, CountEntry, CountResult, Item
from stock.templatetags.words import moment_words, money
from stock.web.amounts import Amount, AmountColumn, compared, tap_for_base
from stock.web.counts.lines import entry_words, lot_words, said_words
from stock.web.counts.page import PastTable
from stock.wording.names import person_name

MOST_REASONS = 3  # of what keeps a count from being undone; the rest is a number
FIGURE = {"td": {"class": "num"}, "th": {"class": "num"}}


@dataclass(frozen=True, slots=True)
class CorrectedShelf:
    """One shelf whose record was corrected."""

    result: CountResult
    converter: Converter

    @property
    def counted(self) -> Amount:
        """What was counted."""
        return self._compared[0]

    @property
    def expected(self) -> Amount:
        """What was on record."""
        return self._compared[1]

    @property
    def difference(self) -> Amount:
        """Counted less recorded."""
        return self._compared[2]

    @property
    def _compared(self) -> tuple[Amount, Amount, Amount]:
        result = self.result
        return compared(result.counted_base, result.expected_base, self.converter)


class ChangeTable(tables.Table):
    """What was corrected, the dearest variance first."""

    caption = gettext_lazy(
        "Corrections, the dearest first, each in the item's own words."
    )
    item = tables.Column(
        gettext_lazy("Item"),
        accessor="result__item",
        linkify=("stock:item", [tables.A("result__item_id")]),
    )
    place = tables.Column(gettext_lazy("Place"), accessor="result__place")
    expected = AmountColumn(gettext_lazy("Was on record"))
    counted = AmountColumn(gettext_lazy("Counted"))
    difference = tables.Column(gettext_lazy("Variance"))
    cost = tables.Column(
        gettext_lazy("Worth"), accessor="result__variance_cost", attrs=FIGURE
    )

    class Meta:
        orderable = False

    def __init__(self, rows: list[CorrectedShelf], *, currency: str) -> None:
        super().__init__(rows)
        self.currency = currency

    def render_item(self, value: Item) -> str:
        """Return the item's name as it heads a row."""
        return capfirst(value.name)

    def render_difference(self, value: Amount) -> SafeString:
        """Return how much more or less there is."""
        return tap_for_base(value.difference_words, value)

    def render_cost(self, value: Any) -> str:
        """Return what the variance is worth."""
        return money(value, self.currency)


@dataclass(frozen=True, slots=True)
class LateEntry:
    """An entry that came after the count was posted, and what to do about it."""

    entry: CountEntry
    posted_base: Decimal | None  # what was posted on its shelf; None: not counted
    converter: Converter | None

    @property
    def sentence(self) -> str:
        """Who said what of which line, and what was posted there."""
        row = self.entry
        came = moment_words(row.received_at, timezone.localdate())
        dated = lot_words(row.use_by, row.lot_code)
        where = ", ".join(filter(None, [row.item.name, row.place.name, dated]))
        posted = _("not counted")
        if self.posted_base is not None and self.converter is not None:
            posted = str(Amount(self.posted_base, self.converter))
        words = "" if row.amount_base is None else entry_words(row, self.converter)
        said = said_words(row, words, self.converter)
        return _("{where}: {said}, which came {came}. Posted: {posted}.").format(
            where=where, said=said, came=came, posted=posted
        )

    @property
    def set_url(self) -> str:
        """Where it is set by hand, if it is right."""
        query = {"place": str(self.entry.place_id)}
        if self.entry.use_by:
            query["use_by"] = self.entry.use_by.isoformat()
        page = reverse("stock:set_on_hand", args=[self.entry.item_id])
        return f"{page}?{urlencode(query)}"


def outcome_context(count: Count, currency: str) -> dict[str, Any]:
    """Return what the page of a posted count shows."""
    came_to = outcome(count.pk)
    late_ids = {row.item_id for row in came_to.late}
    known = converters_for({row.item_id for row in came_to.changed} | late_ids)
    changes = [CorrectedShelf(row, known[row.item_id]) for row in came_to.changed]
    past, stays = accuracy_over_time()[::-1], in_the_way(count)
    return {
        "count": count,
        "facts": _facts(came_to, currency),
        "changes": ChangeTable(changes, currency=currency) if changes else None,
        "past": PastTable(past, currency=currency),
        "times": [time_words(time) for time in came_to.times],
        "questions": questions_words(came_to.questions),
        "late": _late(came_to, known),
        "in_the_way": stays[:MOST_REASONS],
        "more_in_the_way": len(stays[MOST_REASONS:]),
        "posted_at": count.closed_at.isoformat() if count.closed_at else "",
        "late_newest": max((row.pk for row in came_to.late), default=0),
        "notes": [note_words(row) for row in came_to.notes],
    }


def _late(came_to: CountOutcome, known: Mapping[int, Converter]) -> list[LateEntry]:
    posted = {(row.place_id, row.item_id): row.counted_base for row in came_to.results}
    return [
        LateEntry(row, posted.get((row.place_id, row.item_id)), known.get(row.item_id))
        for row in came_to.late
    ]


def note_words(row: CountDecision) -> str:
    """Return a note with its line and who wrote it."""
    dated = lot_words(row.use_by, row.lot_code)
    where = ", ".join(filter(None, [row.item.name, row.place.name, dated]))
    by = row.note_by
    person = f" ({person_name(by)})" if by else ""
    return f"{where}: {row.note}{person}"


def time_words(time: CounterTime) -> str:
    """Return how long one person counted: ada: 60 entries in 24 minutes."""
    entries = ngettext("1 entry", "{entries} entries", time.entries).format(
        entries=time.entries
    )
    return _("{value}: {entries} in {minutes}.").format(
        value=time.person or _("Somebody"),
        entries=entries,
        minutes=minutes_words(time.counting),
    )


def minutes_words(counting: timedelta) -> str:
    """Return a time as people say it: 24 minutes, 1 hour 5 minutes."""
    hours, minutes = divmod(round(Fraction(counting.seconds, 60)), 60)
    hours += counting.days * 24
    parts = [
        f"{number} {word}{'' if number == 1 else 's'}"
        for number, word in ((hours, "hour"), (minutes, "minute"))
        if number
    ]
    return " ".join(parts) or _("less than a minute")


def questions_words(questions: Questions) -> str:
    """Return what was asked at the shelf, and what came of it; blank for nothing."""
    if not questions.asked:
        return ""
    lines = ngettext("1 line", "{asked} lines", questions.asked).format(
        asked=questions.asked
    )
    return _(
        "Asked about {lines} at the shelf: {corrected} corrected, "
        "{confirmed} right as entered."
    ).format(lines=lines, corrected=questions.corrected, confirmed=questions.confirmed)


def _facts(came_to: CountOutcome, currency: str) -> list[tuple[str, object, str]]:
    accuracy: Accuracy = came_to.accuracy
    near = accuracy.accurate - accuracy.as_on_record
    return [
        (_("Counted"), accuracy.lines, ngettext("line", "lines", accuracy.lines)),
        (_("As on record"), accuracy.as_on_record, _("of them")),
        (
            _("Corrected"),
            len(came_to.changed),
            _("of them, {near} by at most 2 in 100").format(near=near),
        ),
        (_("Variance"), money(accuracy.net_cost, currency), _("surplus less shortage")),
        (_("Off either way"), money(accuracy.gross_cost, currency), _("both added")),
    ]
