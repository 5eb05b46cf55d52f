"""What counts came to: what changed, how near the record was, how long it took."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import dropwhile, pairwise

from django.db import transaction
from django.db.models import Count as CountOf
from django.db.models import F, Q

from stock.counts.lines import LineKey, line_of
from stock.counts.states import locked
from stock.ledger.levels import ZERO
from stock.models import Count, CountDecision, CountEntry, CountResult
from stock.wording.names import person_name

Choice = CountDecision.Choice
# A line is accurate where the count is within this of the record, as counts of dear
# goods are judged. Our choice; nothing counted where nothing was on record is accurate.
ACCURATE_WITHIN_FRACTION = Decimal("0.02")
# A longer pause between two entries was not counting.
LONGEST_PAUSE = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How near the record was to what was counted."""

    count: Count
    lines: int  # shelves with a figure
    as_on_record: int  # of them, with nothing to correct
    accurate: int  # of them, within two in a hundred of the record; those too
    net_cost: Decimal  # of all differences with a price
    gross_cost: Decimal  # the same, shortages and surpluses both as losses

    @property
    def accurate_fraction(self) -> float:
        """The share of accurate lines, from 0 to 1."""
        return self.accurate / self.lines if self.lines else 0.0


@dataclass(frozen=True, slots=True)
class CounterTime:
    """How long one person counted, pauses left out."""

    person: str  # blank: nobody was named
    entries: int
    counting: timedelta


@dataclass(frozen=True, slots=True)
class Questions:
    """What the slip catcher asked at the shelf, and what came of it."""

    asked: int
    confirmed: int  # it was so: the question was needless
    corrected: int  # another figure stands now: a slip was caught


@dataclass(frozen=True, slots=True)
class CountOutcome:
    """What a posted count came to."""

    accuracy: Accuracy
    changed: tuple[CountResult, ...]  # with item and place; worst first
    results: tuple[CountResult, ...]  # of all that was counted
    times: tuple[CounterTime, ...]
    questions: Questions
    late: tuple[CountEntry, ...]  # came after it was posted: kept, counted for nothing
    notes: tuple[CountDecision, ...]  # with item and place, in walking order


@dataclass(frozen=True, slots=True)
class Late:
    """A posted count with entries that came after it and that nobody has seen."""

    count: Count
    entries: int


def corrected_items(count_id: int) -> int:
    """Return how many items a posted count corrected. One query."""
    changed = CountResult.objects.filter(count_id=count_id).exclude(
        counted_base=F("expected_base")
    )
    return changed.order_by().values("item_id").distinct().count()


def outcome(count_id: int) -> CountOutcome:
    """Return what a posted count came to. Five queries."""
    count = Count.objects.get(pk=count_id)
    results = list(
        CountResult.objects.filter(count=count).select_related("item", "place")
    )
    entries = list(
        CountEntry.objects.filter(count=count).select_related("by", "item", "place")
    )
    decisions = CountDecision.objects.filter(count=count)
    notes = decisions.exclude(note="")
    changed = [row for row in results if row.counted_base != row.expected_base]
    return CountOutcome(
        accuracy=_accuracy(count, results),
        changed=tuple(sorted(changed, key=_worst_first)),
        results=tuple(results),
        times=counter_times(entries),
        questions=_questions(entries, decisions),
        late=tuple(row for row in entries if row.kept == CountEntry.Kept.POSTED),
        notes=tuple(
            notes.select_related("item", "place", "note_by").order_by(
                "place__walk_order", "place__name", "item__name"
            )
        ),
    )


def unseen_late() -> list[Late]:
    """Return posted counts with late entries that nobody has seen yet. One query."""
    is_late = Q(entries__kept=CountEntry.Kept.POSTED, entries__pk__gt=F("late_seen"))
    posted = Count.objects.filter(state=Count.State.POSTED)
    counts = posted.annotate(late=CountOf("entries", filter=is_late)).filter(late__gt=0)
    return [Late(count, count.late) for count in counts.select_related("closed_by")]


@transaction.atomic
def see_late(count_id: int, seen_entry_id: int) -> None:
    """Note that somebody saw the late entries up to this one."""
    count = locked(count_id)
    count.late_seen = max(count.late_seen, seen_entry_id)
    count.save(update_fields=["late_seen"])


def accuracy_over_time(*, counts: int = 26) -> list[Accuracy]:
    """Return how accurate the last counts were, the oldest first. Two queries."""
    posted = list(
        Count.objects.filter(state=Count.State.POSTED).order_by("-counted_at", "-pk")[
            :counts
        ]
    )
    results: dict[int, list[CountResult]] = defaultdict(list)
    for row in CountResult.objects.filter(count__in=posted):
        results[row.count_id].append(row)
    return [_accuracy(count, results[count.pk]) for count in reversed(posted)]


def counter_times(entries: Iterable[CountEntry]) -> tuple[CounterTime, ...]:
    """Return how long each person counted, by their devices' own clocks.

    From entry to entry; a pause of more than ten minutes is none of it. A clock that
    is an hour off is off for all its entries, and the time between them is right.
    """
    moments: dict[str, dict[str, list[datetime]]] = defaultdict(dict)
    for entry in entries:
        by_device = moments[person_name(entry.by)]
        by_device.setdefault(entry.device, []).append(entry.entered_at)
    return tuple(
        CounterTime(
            person=person,
            entries=sum(len(of) for of in by_device.values()),
            counting=sum((_counting(of) for of in by_device.values()), timedelta()),
        )
        for person, by_device in sorted(moments.items())
    )


def is_accurate(counted_base: Decimal, expected_base: Decimal) -> bool:
    """Whether a count is within two in a hundred of the record.

    >>> is_accurate(Decimal(98), Decimal(100)), is_accurate(Decimal(97), Decimal(100))
    (True, False)
    """
    off_base = abs(counted_base - expected_base)
    return off_base <= ACCURATE_WITHIN_FRACTION * max(expected_base, ZERO)


def _accuracy(count: Count, results: Sequence[CountResult]) -> Accuracy:
    costs = [row.variance_cost for row in results if row.variance_cost is not None]
    return Accuracy(
        count=count,
        lines=len(results),
        as_on_record=sum(row.counted_base == row.expected_base for row in results),
        accurate=sum(
            is_accurate(row.counted_base, row.expected_base) for row in results
        ),
        net_cost=sum(costs, ZERO),
        gross_cost=sum((abs(cost) for cost in costs), ZERO),
    )


def _counting(moments: list[datetime]) -> timedelta:
    ordered = sorted(moments)
    pauses = [after - before for before, after in pairwise(ordered)]
    return sum((pause for pause in pauses if pause <= LONGEST_PAUSE), timedelta())


def _questions(
    entries: Sequence[CountEntry], decisions: Iterable[CountDecision]
) -> Questions:
    """Tell questions apart by how the line of the same person went on.

    Or by what the review decided, where its counter did not answer. What was entered
    before a question was asked says nothing of it.
    """
    by_line: dict[tuple[int | None, LineKey], list[CountEntry]] = defaultdict(list)
    for entry in entries:
        by_line[entry.by_id, line_of(entry)].append(entry)
    choices = {line_of(decision): decision.choice for decision in decisions}
    asked = {
        key: since
        for key, of in by_line.items()
        if (since := list(dropwhile(lambda entry: not entry.asked, of)))
    }
    confirmed = corrected = 0
    for (_, line), (first, *others) in asked.items():
        choice = choices.get(line, "")
        so = [entry for entry in others if entry.amount_base == first.amount_base]
        if first.confirmed or any(entry.confirmed for entry in so):
            confirmed += 1
        elif len(so) < len(others) or choice == Choice.READ:
            corrected += 1
        elif choice == Choice.ONE:
            confirmed += 1
    return Questions(len(asked), confirmed, corrected)


def _worst_first(row: CountResult) -> tuple[object, ...]:
    cost = abs(row.variance_cost) if row.variance_cost is not None else ZERO
    return -cost, row.item.name.casefold(), row.place_id
