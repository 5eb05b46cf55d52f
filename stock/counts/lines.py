"""What the entries of a count come to, line by line, whatever order they came in.

A line is an item in a place, with a use-by or a lot where somebody said one. Each
person's newest entry on a line stands. "Newest" is by the device's own running number
and by what its writer saw and replaced; clocks decide only between two devices of one
person that knew nothing of each other, and only as far as the server's own bears them
out. Two people with different figures are a conflict, which the review decides; so it
does where somebody's newest entry could not be read and an older figure stands, or
where they typed another on some device and did not enter it.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import combinations
from typing import NamedTuple
from uuid import UUID

from stock.ledger.levels import ZERO
from stock.measures.units import Measure
from stock.models import CountDecision, CountEntry, CountTyped

WORD = re.compile(r"[^\W\d_]+")
# Two devices of one person may disagree about the time by so much; closer than that
# nobody can say which entry is the newer one. Our choice: a clock that missed the
# change to summer time is an hour off.
CLOCKS_AGREE_WITHIN = timedelta(hours=2)
# What one says in kilos and another in pounds, each with three figures, may be half a
# hundredth apart and is the same sack on the scale (8 kg, 17.6 lb).
SAME_IN_OTHER_UNITS_FRACTION = Decimal("0.005")


class LineKey(NamedTuple):
    """What one line of a count speaks of."""

    place_id: int
    item_id: int
    use_by: date | None = None
    lot_code: str = ""


class Shelf(NamedTuple):
    """An item in a place, all its use-bys and lots together."""

    place_id: int
    item_id: int


@dataclass(frozen=True, slots=True)
class EntryIn:
    """An entry as a device, a form or a file sends it."""

    key: UUID
    count_id: int
    place_id: int
    item_id: int
    text: str  # reads the same anywhere; blank: not counted after all
    entered_at: datetime  # by the device's clock
    by_id: int | None = None  # whose it says it is; blank: who sends it
    claimed_by_id: int | None = None  # the same, once another turned out to send it
    use_by: date | None = None
    lot_code: str = ""
    understood_base: Decimal | None = None  # as the device read the text, if it did
    device: str = ""
    sequence: int = 0  # the device's own running number
    supersedes: UUID | None = None  # the entry that its writer saw and replaced
    asked: str = ""  # the kind of slip that the counter was asked about
    confirmed: bool = False  # asked, the counter says that it is so
    typed: str = ""  # where that is not the text: a unit was added to it

    @property
    def line(self) -> LineKey:
        """The line that it speaks of."""
        return LineKey(self.place_id, self.item_id, self.use_by, self.lot_code)


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of one line: each person's entry, and what the line comes to."""

    line: LineKey
    entries: tuple[CountEntry, ...]  # one a person (two if their devices disagree)
    decision: CountDecision | None
    decided_base: Decimal | None  # None: nothing was, or an entry came in since
    is_conflict: bool  # and not decided
    counted_base: Decimal | None  # None: not counted, or not decided yet
    # Could not be read, newer than their writer's figure, and not decided.
    unread: tuple[CountEntry, ...]
    # Typed and not entered by whoever wrote a figure before, and not decided.
    typed: tuple[CountTyped, ...]
    # By person, blank ones too: what a device asks when it wants to know what became
    # of an entry.
    newest: Mapping[int | None, tuple[CountEntry, ...]]

    @property
    def is_one_person(self) -> bool:
        """Whether one person alone has counted it, on however many phones."""
        return len({entry.by_id for entry in self.entries}) == 1

    @property
    def is_unread(self) -> bool:
        """Whether a figure stands though somebody wrote a newer one, not readable."""
        return bool(self.entries and self.unread)

    @property
    def is_replaced(self) -> bool:
        """Whether something newer than a figure is not taken: unread, or not entered.

        Then somebody has to say that the figure stands.
        """
        return self.is_unread or bool(self.typed)


def line_of(row: CountEntry | CountDecision | CountTyped) -> LineKey:
    """Return the line that a stored entry or decision speaks of, or what is typed."""
    return LineKey(row.place_id, row.item_id, row.use_by, row.lot_code)


def standings(
    entries: Iterable[CountEntry],
    decisions: Iterable[CountDecision] = (),
    typed: Iterable[CountTyped] = (),
) -> dict[LineKey, Standing]:
    """Return what each line with entries comes to. No query.

    Entries that were kept but not taken count for nothing here; one that could not be
    read stands beside the figures until its writer enters another. So does what is
    typed and not entered, beside its own writer's figure; it comes with its device.
    """
    entries_by_line: dict[LineKey, list[CountEntry]] = defaultdict(list)
    for entry in entries:
        if entry.kept in (CountEntry.Kept.TAKEN, CountEntry.Kept.UNREADABLE):
            entries_by_line[line_of(entry)].append(entry)
    decision_by_line = {line_of(decision): decision for decision in decisions}
    typed_by_line: dict[LineKey, list[CountTyped]] = defaultdict(list)
    for row in typed:
        typed_by_line[line_of(row)].append(row)
    return {
        line: _standing(line, said, decision_by_line.get(line), typed_by_line[line])
        for line, said in entries_by_line.items()
    }


def newest_by_person(
    entries: Sequence[CountEntry],
) -> dict[int | None, tuple[CountEntry, ...]]:
    """Return each person's newest entry on one line, by person.

    Two, the likelier first, where two devices of one person disagree and the one was
    not clearly entered after the other had come: clocks run ahead, and behind.
    """
    by_person: dict[int | None, list[CountEntry]] = defaultdict(list)
    for entry in entries:
        by_person[entry.by_id].append(entry)
    return {person: _newest(said) for person, said in by_person.items()}


def decided_base(
    decision: CountDecision | None,
    entries: Sequence[CountEntry],
    unread: Sequence[CountEntry] = (),
    typed: Sequence[CountTyped] = (),
) -> Decimal | None:
    """Return what was decided, unless something came in after the decision."""
    if decision is None or not decision.choice or not entries:
        return None
    if any(entry.pk > decision.through_entry for entry in (*entries, *unread)):
        return None
    if any(row.pk > decision.through_typed for row in typed):
        return None
    if decision.choice == CountDecision.Choice.SUM:
        return sum((entry.amount_base or ZERO for entry in entries), ZERO)
    chosen = [entry for entry in entries if entry.pk == decision.entry_id]
    if chosen and decision.choice == CountDecision.Choice.READ:
        return decision.amount_base
    return chosen[0].amount_base if chosen else None


def lapsed_base(decision: CountDecision | None) -> Decimal | None:
    """Return what a decision said that does not hold any more.

    Whoever decided and whoever entered another figure since did not see each other.
    """
    return decision.amount_base if decision and decision.choice else None


def counted_lines(standing_by_line: Mapping[LineKey, Standing]) -> list[LineKey]:
    """Return the lines with a figure, decided or not; a blanked one has none."""
    return [line for line, standing in standing_by_line.items() if standing.entries]


def counted_base_by_shelf(
    standing_by_line: Mapping[LineKey, Standing],
) -> dict[Shelf, Decimal]:
    """Return what was counted of each item in each place, its lots together."""
    totals: dict[Shelf, Decimal] = defaultdict(Decimal)
    for line, standing in standing_by_line.items():
        if standing.counted_base is not None:
            totals[Shelf(line.place_id, line.item_id)] += standing.counted_base
    return dict(totals)


def is_same_figure(one: CountEntry, other: CountEntry) -> bool:
    """Whether two entries of one line say the same, be it in other units.

    Pieces are counted and not weighed: there one more is another figure.
    """
    if one.amount_base == other.amount_base:
        return True
    if one.amount_base is None or other.amount_base is None:
        return False
    if one.item.measure == Measure.COUNT or _words(one) == _words(other):
        return False
    off_base = abs(one.amount_base - other.amount_base)
    larger_base = max(one.amount_base, other.amount_base)
    return off_base <= SAME_IN_OTHER_UNITS_FRACTION * larger_base


def _words(entry: CountEntry) -> list[str]:
    """Return a text without its numbers: its units, however they are written."""
    return WORD.findall(entry.text.casefold())


def _standing(
    line: LineKey,
    said: Sequence[CountEntry],
    decision: CountDecision | None,
    typed: Sequence[CountTyped],
) -> Standing:
    read = [entry for entry in said if not entry.kept]
    newest = newest_by_person(read)
    unread = _unread(said)
    entries = sorted(
        (entry for heads in newest.values() for entry in heads if not _is_blank(entry)),
        key=_by_clock,
    )
    open_typed = tuple(row for row in typed if _replaces(row, entries, said))
    decided = decided_base(decision, entries, unread, open_typed)
    is_conflict = decided is None and (
        any(not is_same_figure(one, other) for one, other in combinations(entries, 2))
        or _is_lapsed(decision, entries)
    )
    counted = entries[-1].amount_base if entries and not is_conflict else None
    return Standing(
        line=line,
        entries=tuple(entries),
        decision=decision,
        decided_base=decided,
        is_conflict=is_conflict,
        counted_base=counted if decided is None else decided,
        unread=unread if decided is None else (),
        typed=open_typed if decided is None else (),
        newest=newest,
    )


def _unread(said: Sequence[CountEntry]) -> tuple[CountEntry, ...]:
    """Return what could not be read and is not answered: each person's last."""
    newest: dict[int | None, CountEntry] = {}
    for entry in sorted((each for each in said if each.kept), key=lambda row: row.pk):
        if not any(_answers(other, entry) for other in said if not other.kept):
            newest[entry.by_id] = entry
    return tuple(newest.values())


def _answers(entry: CountEntry, unread: CountEntry) -> bool:
    """Whether an entry came after its own writer's one that could not be read.

    A device numbers its entries; between two devices the clock decides.
    """
    if entry.by_id != unread.by_id:
        return False
    if entry.device == unread.device:
        return _in_sequence(entry) > _in_sequence(unread)
    return entry.supersedes == unread.key or entry.said_at > unread.said_at


def _replaces(
    typed: CountTyped, entries: Sequence[CountEntry], said: Sequence[CountEntry]
) -> bool:
    """Whether what is typed was to replace its own writer's figure.

    Not where it says the same, or where they have entered something since.
    """
    by_id = typed.device.by_id
    own = [entry for entry in entries if entry.by_id == by_id]
    if not own or any(entry.quoted == typed.text for entry in own):
        return False
    return not any(
        entry.by_id == by_id and entry.said_at > typed.heard_at for entry in said
    )


def _is_lapsed(decision: CountDecision | None, entries: Sequence[CountEntry]) -> bool:
    """Whether somebody decided otherwise, and had not seen what stands here now."""
    was_base = lapsed_base(decision)
    if was_base is None or not entries:
        return False
    return all(entry.amount_base != was_base for entry in entries)


def _newest(said: Sequence[CountEntry]) -> tuple[CountEntry, ...]:
    by_device: dict[str, list[CountEntry]] = defaultdict(list)
    for entry in said:
        by_device[entry.device].append(entry)
    heads = {device: max(own, key=_in_sequence) for device, own in by_device.items()}
    unseen = [
        head
        for device, head in heads.items()
        if not any(
            entry.supersedes == head.key
            for other, own in by_device.items()
            if other != device
            for entry in own
        )
    ]
    # Two entries that each claim to replace the other: both stand, the clock decides.
    ranked = sorted(unseen or heads.values(), key=_by_clock, reverse=True)
    first = ranked[0]
    doubtful = [
        head
        for head in ranked[1:]
        if not _is_surely_newer(first, head)
        and not is_same_figure(head, first)
        and not _is_blank(head)
    ]
    return (first, *doubtful)


def _is_surely_newer(one: CountEntry, other: CountEntry) -> bool:
    """Whether it was entered hours after the other one had come already.

    Only the server's clock says when that was: the other device's own may run behind.
    One that ran ahead says nothing of when it was entered.
    """
    if one.entered_at - one.received_at > CLOCKS_AGREE_WITHIN:
        return False
    return one.said_at - other.received_at > CLOCKS_AGREE_WITHIN


def _in_sequence(entry: CountEntry) -> tuple[int, datetime, UUID]:
    return entry.sequence, entry.entered_at, entry.key


def _by_clock(entry: CountEntry) -> tuple[datetime, UUID]:
    return entry.said_at, entry.key


def _is_blank(entry: CountEntry) -> bool:
    return entry.amount_base is None
