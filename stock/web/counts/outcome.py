"""After a count is posted: what changed, how near the record was, how long it took."""

from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any

import django_tables2 as tables
from django.utils.safestring import SafeString

from stock.converters import converters_for
from stock.counts.history import (
    Accuracy,
    CounterTime,
    Outcome,
    Questions,
    accuracy_over_time,
    outcome,
)
from stock.measures.conversion import Converter
from stock.models import Count, CountResult
from stock.templatetags.words import money
from stock.web.amounts import Amount, AmountColumn, tap_for_base
from stock.web.counts.page import PastTable

FIGURE = {"td": {"class": "num"}, "th": {"class": "num"}}


@dataclass(frozen=True, slots=True)
class Change:
    """One shelf whose record was corrected."""

    result: CountResult
    converter: Converter

    @property
    def counted(self) -> Amount:
        """What was counted."""
        return Amount(self.result.counted_base, self.converter)

    @property
    def expected(self) -> Amount:
        """What was on record."""
        return Amount(self.result.expected_base, self.converter)

    @property
    def difference(self) -> Amount:
        """Counted less recorded."""
        return Amount(
            self.result.counted_base - self.result.expected_base, self.converter
        )


class ChangeTable(tables.Table):
    """What was corrected, the dearest difference first."""

    caption = "Corrections, the dearest first, each in the item's own words."
    item = tables.Column(
        accessor="result__item", linkify=("stock:item", [tables.A("result__item_id")])
    )
    place = tables.Column(accessor="result__place")
    expected = AmountColumn("Was on record")
    counted = AmountColumn("Counted")
    difference = tables.Column("Difference")
    cost = tables.Column("Worth", accessor="result__variance_cost", attrs=FIGURE)

    class Meta:
        orderable = False

    def __init__(self, rows: list[Change], *, currency: str) -> None:
        super().__init__(rows)
        self.currency = currency

    def render_difference(self, value: Amount) -> SafeString:
        """Return how much more or less there is."""
        return tap_for_base(value.difference_words, value)

    def render_cost(self, value: Any) -> str:
        """Return what the difference is worth."""
        return money(value, self.currency)


def outcome_context(count: Count, currency: str) -> dict[str, Any]:
    """Return what the page of a posted count shows."""
    came_to = outcome(count.pk)
    known = converters_for({row.item_id for row in came_to.changed})
    changes = [Change(row, known[row.item_id]) for row in came_to.changed]
    past = accuracy_over_time()[::-1]
    return {
        "count": count,
        "facts": _facts(came_to, currency),
        "changes": ChangeTable(changes, currency=currency) if changes else None,
        "past": PastTable(past, currency=currency),
        "times": [time_words(time) for time in came_to.times],
        "questions": questions_words(came_to.questions),
    }


def time_words(time: CounterTime) -> str:
    """Return how long one person counted: ada: 60 entries in 24 minutes."""
    entries = "1 entry" if time.entries == 1 else f"{time.entries} entries"
    return f"{time.person or 'Somebody'}: {entries} in {minutes_words(time.counting)}."


def minutes_words(counting: timedelta) -> str:
    """Return a time as people say it: 24 minutes, 1 hour 5 minutes."""
    hours, minutes = divmod(round(Fraction(counting.seconds, 60)), 60)
    hours += counting.days * 24
    parts = [
        f"{number} {word}{'' if number == 1 else 's'}"
        for number, word in ((hours, "hour"), (minutes, "minute"))
        if number
    ]
    return " ".join(parts) or "less than a minute"


def questions_words(questions: Questions) -> str:
    """Return what was asked at the shelf, and what came of it; blank for nothing."""
    if not questions.asked:
        return ""
    lines = "1 line" if questions.asked == 1 else f"{questions.asked} lines"
    return (
        f"Asked about {lines} at the shelf: {questions.corrected} corrected, "
        f"{questions.confirmed} right as entered."
    )


def _facts(came_to: Outcome, currency: str) -> list[tuple[str, object, str]]:
    accuracy: Accuracy = came_to.accuracy
    right = f"{accuracy.accurate_fraction:.0%}"
    return [
        ("Record right", right, f"of {accuracy.lines} lines, within 2 in 100"),
        ("Corrected", len(came_to.changed), "lines"),
        ("Difference", money(accuracy.net_cost, currency), "all in all"),
        ("Off either way", money(accuracy.gross_cost, currency), "more and less added"),
    ]
