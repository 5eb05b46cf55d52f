"""The review of a count: by item, worst first, before anything is posted."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from django.utils.translation import gettext as _

from stock.counts.lines import Shelf, Standing, lapsed_base
from stock.counts.lots import expected_base_by_line
from stock.counts.meanwhile import Moved, moved_meanwhile
from stock.counts.questions import open_questions
from stock.counts.records import cost_of, price_per_base_by_item
from stock.counts.sheets import Look, look
from stock.counts.shown import shown
from stock.counts.states import undone_text
from stock.counts.walk import WalkLine
from stock.errors import MeasureError
from stock.ledger.levels import ZERO
from stock.measures.amount_words import stated_amount_words
from stock.measures.conversion import Converter
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.measures.slips import Slip
from stock.models import Count, CountDecision, CountEntry, CountTyped, Item
from stock.wording.names import person_name


@dataclass(frozen=True, slots=True)
class PersonSaid:
    """What one person said of a line, as the review shows it."""

    entry: CountEntry
    person: str  # blank: nobody was named
    words: str  # 2 cases + 6 lb
    remarks: tuple[str, ...]  # what to know about it

    @property
    def unread_sentence(self) -> str:
        """That it could not be read, for one that is newer than a figure."""
        whose = f"{self.person}'s" if self.person else _("The")
        return _("{whose} newest entry, “{quoted}”, could not be read.").format(
            whose=whose, quoted=self.entry.quoted
        )


@dataclass(frozen=True, slots=True)
class OtherReading:
    """A figure that nobody entered, and that may be meant: offered in the review."""

    value: str  # what a form sends back, the same as long as the figure is offered
    text: str
    amount_base: Decimal
    decided: bool = False  # somebody chose it, before another entry came in


@dataclass(frozen=True, slots=True)
class ReviewLine:
    """One counted line: a place, perhaps a use-by."""

    line: WalkLine
    said: tuple[PersonSaid, ...]
    counted_base: Decimal | None  # None: two people differ and nobody decided
    expected_base: Decimal
    is_conflict: bool
    slip: Slip | None  # asked, and not answered yet
    decision: CountDecision | None
    decided_base: Decimal | None  # None: nothing was, or an entry came in since
    unread: tuple[PersonSaid, ...] = ()  # newer than a figure, and could not be read
    typed: tuple[CountTyped, ...] = ()  # newer than a figure, and not entered

    @property
    def is_open(self) -> bool:
        """Whether it is to be decided before the count can be posted."""
        is_replaced = bool(self.unread or self.typed)
        return self.is_conflict or self.slip is not None or is_replaced

    @property
    def typed_sentences(self) -> tuple[str, ...]:
        """Who typed what after their figure, and has not entered it."""
        return tuple(
            _("{person_name} typed “{text}” since, not entered.").format(
                person_name=person_name(row.device.by), text=row.text
            )
            for row in self.typed
        )

    @property
    def readings(self) -> tuple[OtherReading, ...]:
        """The figures to choose from beside the entries."""
        readings = []
        if self.slip and (instead := self.slip.instead):
            amount_base = to_ledger(instead.amount_base)
            readings.append(
                OtherReading(f"read {instead.text}", instead.text, amount_base)
            )
        was_base = lapsed_base(self.decision)
        if self.is_conflict and self.decision and was_base is not None:
            value = f"decided {self.decision.version}"
            readings.append(OtherReading(value, self.decision.text, was_base, True))
        return tuple(readings)

    @property
    def note(self) -> str:
        """What somebody wrote beside it."""
        return self.decision.note if self.decision else ""


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """One item of a count: all its counted lines together."""

    item: Item
    converter: Converter | None
    counted_base: Decimal | None  # None: not decided yet
    expected_base: Decimal  # on record on the counted lines, at the count's moment
    variance_cost: Decimal | None  # None: not decided, or no price
    lines: tuple[ReviewLine, ...]
    not_counted_in: tuple[str, ...]  # other places of the item in this count
    moved: tuple[Moved, ...]

    @property
    def variance_base(self) -> Decimal | None:
        """Counted less recorded: above zero there is more than the record says."""
        if self.counted_base is None:
            return None
        return self.counted_base - self.expected_base

    @property
    def is_conflict(self) -> bool:
        """Whether there are two figures, and nobody has said which one stands."""
        return any(line.is_conflict for line in self.lines)

    @property
    def is_open(self) -> bool:
        """Whether something is to be decided before the count can be posted."""
        return any(line.is_open for line in self.lines)


@dataclass(frozen=True, slots=True)
class Review:
    """Everything to look at before a count is posted."""

    count: Count
    rows: tuple[ReviewRow, ...]  # to be decided first, then worst first
    not_counted: tuple[WalkLine, ...]  # in walking order; left as they are on record
    kept: tuple[PersonSaid, ...]  # entries that the count could not take
    net_cost: Decimal  # of all variances with a price
    newest_entry_id: int  # give it back when deciding
    newest_typed_id: int  # the same
    shown: str  # give it back when posting or discarding

    @property
    def undecided(self) -> tuple[str, ...]:
        """The items that are to be decided: two figures, or a question."""
        return tuple(row.item.name for row in self.rows if row.is_open)

    @property
    def undone(self) -> str:
        """When the count was last undone; deciding refuses where it was since."""
        return undone_text(self.count)

    @property
    def open_lines(self) -> int:
        """How many lines are to be decided."""
        return sum(line.is_open for row in self.rows for line in row.lines)


def review(count_id: int) -> Review:
    """Return the review of a count, whatever its state. Sixteen queries."""
    seen = look(count_id)
    line_by_key = {line.key: line for line in seen.walk.lines}
    expected = expected_base_by_line(seen.standings, seen.walk.on_hand)
    questions = open_questions(seen)
    lines_by_item: dict[int, list[ReviewLine]] = defaultdict(list)
    for key, line in line_by_key.items():  # in walking order
        standing = seen.standings.get(key)
        if standing and standing.entries:
            reviewed = _review_line(
                line, standing, expected[key], questions.get(key), seen
            )
            lines_by_item[key.item_id].append(reviewed)
    prices = price_per_base_by_item(lines_by_item)
    moved = moved_meanwhile(seen, _entered_at(lines_by_item))
    shelves_by_item = seen.walk.shelves_by_item()
    rows = [
        _row(
            lines,
            seen,
            prices.get(item_id),
            moved.get(item_id, ()),
            {shelf.place_id for shelf in shelves_by_item[item_id]},
        )
        for item_id, lines in lines_by_item.items()
    ]
    costs = [row.variance_cost for row in rows if row.variance_cost is not None]
    return Review(
        count=seen.walk.count,
        rows=tuple(sorted(rows, key=_worst_first)),
        not_counted=_not_counted(seen),
        kept=tuple(_said(entry, seen) for entry in _kept(seen)),
        net_cost=sum(costs, ZERO),
        newest_entry_id=max((entry.pk for entry in seen.entries), default=0),
        newest_typed_id=max((row.pk for row in seen.typed), default=0),
        shown=str(shown(seen)),
    )


def _kept(seen: Look) -> list[CountEntry]:
    """Return what the count could not take, but for what its writer has sent since.

    Of what could not be read, what no figure stands on: the other lines ask about it.
    """
    entries = seen.entries
    unread = {
        entry.pk
        for standing in seen.standings.values()
        if not standing.is_unread
        for entry in standing.unread
    }
    apart, unreadable = CountEntry.Kept.APART, CountEntry.Kept.UNREADABLE
    sent = {
        (entry.by_id, entry.device, entry.sequence)
        for entry in entries
        if entry.kept != apart
    }
    return [
        entry
        for entry in entries
        if (
            entry.kept == apart
            and (entry.claimed_by_id, entry.device, entry.sequence) not in sent
        )
        or entry.kept not in (apart, unreadable, CountEntry.Kept.TAKEN)
        or entry.pk in unread
    ]


def _review_line(
    line: WalkLine,
    standing: Standing,
    expected_base: Decimal,
    slip: Slip | None,
    seen: Look,
) -> ReviewLine:
    return ReviewLine(
        line=line,
        said=tuple(_said(entry, seen) for entry in standing.entries),
        counted_base=standing.counted_base,
        expected_base=expected_base,
        is_conflict=standing.is_conflict,
        slip=slip,
        decision=standing.decision,
        decided_base=standing.decided_base,
        unread=tuple(_said(entry, seen) for entry in standing.unread),
        typed=standing.typed,
    )


def _row(
    lines: Sequence[ReviewLine],
    seen: Look,
    price_per_base: Fraction | None,
    moved: Sequence[Moved],
    place_ids: Collection[int],
) -> ReviewRow:
    item = lines[0].line.item
    amounts = [line.counted_base for line in lines]
    counted_base = (
        None
        if any(line.is_conflict for line in lines)
        else sum((amount for amount in amounts if amount is not None), ZERO)
    )
    expected_base = sum((line.expected_base for line in lines), ZERO)
    cost = None
    if counted_base is not None:
        cost = cost_of(counted_base - expected_base, price_per_base)
    here = {line.line.place.pk for line in lines}
    return ReviewRow(
        item=item,
        converter=seen.converters.get(item.pk),
        counted_base=counted_base,
        expected_base=expected_base,
        variance_cost=cost,
        lines=tuple(lines),
        not_counted_in=tuple(
            place.name
            for place in seen.walk.places
            if place.pk in place_ids and place.pk not in here
        ),
        moved=tuple(moved),
    )


def _said(entry: CountEntry, seen: Look) -> PersonSaid:
    converter = seen.converters.get(entry.item_id)
    words = ""
    if entry.amount_base is not None and converter is not None:
        words = stated_amount_words(entry.amount_base, converter)
    return PersonSaid(
        entry=entry,
        person=_name(entry),
        words=words,
        remarks=tuple(_remarks(entry, converter, words, seen)),
    )


def _name(entry: CountEntry) -> str:
    return person_name(entry.by)


def _remarks(
    entry: CountEntry, converter: Converter | None, words: str, seen: Look
) -> Iterable[str]:
    if entry.by is not None and not entry.by.is_active:
        yield _(
            "The account of {name} is closed; the entry counts all the same."
        ).format(name=_name(entry))
    if entry.kept == CountEntry.Kept.APART:
        writer = person_name(entry.claimed_by) or _("somebody else")
        yield _(
            "Entered by {writer}, sent by {name}: not part of the count. Ask "
            "{writer} to sign in on that phone, or to count it again."
        ).format(writer=writer, name=_name(entry))
    elif entry.kept:
        yield _("{kept}: kept, and not part of the count.").format(
            kept=entry.get_kept_display()
        )
    elif converter is None:
        yield seen.faults.get(entry.item_id, "")
    elif entry.amount_base is not None:
        tares = seen.tares.get((entry.place_id, entry.item_id), {})
        try:
            spoken = read_spoken(entry.text, converter, tares)
        except MeasureError as error:
            yield _("Understood as {words} when it was entered. Now: {error}").format(
                words=words, error=error
            )
            return
        if spoken and to_ledger(spoken.amount_base) != entry.amount_base:
            now = stated_amount_words(spoken.amount_base, converter)
            yield _(
                '"{text}" was understood as {words} when it was entered; a word '
                "has changed since, and it would be {words2} now."
            ).format(text=entry.text, words=words, words2=now)


def _entered_at(
    lines_by_item: Mapping[int, Sequence[ReviewLine]],
) -> dict[Shelf, datetime]:
    """Return when each counted shelf was last entered."""
    entered_at: dict[Shelf, datetime] = {}
    for item_id, lines in lines_by_item.items():
        for line in lines:
            newest = max(said.entry.said_at for said in line.said)
            shelf = Shelf(line.line.place.pk, item_id)
            entered_at[shelf] = max(newest, entered_at.get(shelf, newest))
    return entered_at


def _not_counted(seen: Look) -> tuple[WalkLine, ...]:
    counted = {key for key, standing in seen.standings.items() if standing.entries}
    undated = {(key.place_id, key.item_id) for key in counted if key.use_by is None}
    return tuple(
        line
        for line in seen.walk.lines
        if line.key not in counted and (line.place.pk, line.item.pk) not in undated
    )


def _worst_first(row: ReviewRow) -> tuple[object, ...]:
    cost = abs(row.variance_cost) if row.variance_cost is not None else ZERO
    expected_base = max(row.expected_base, Decimal(1))
    ratio = abs(row.variance_base or ZERO) / expected_base
    return not row.is_conflict, not row.is_open, -cost, -ratio, row.item.name.casefold()
