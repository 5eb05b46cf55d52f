"""Count sheets: the lines of a count with what is needed to count them.

What the record says travels with each line for the slip catcher; whoever shows a sheet
keeps it hidden until the line's entry is in.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from stock.counts import tares
from stock.counts.devices import typed_of
from stock.counts.entries import compiled_or_broken
from stock.counts.errors import UnknownCountError
from stock.counts.lines import LineKey, Standing, standings
from stock.counts.questions import open_questions
from stock.counts.records import Past, records
from stock.counts.units import counting_units
from stock.counts.walk import Walk, WalkLine, walk
from stock.measures.conversion import Converter
from stock.measures.counting_units import unit_choices, with_unit
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.slips import Record, Slip
from stock.models import Count, CountDecision, CountEntry, CountTyped, Place


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of a sheet, for one counter."""

    line: WalkLine
    own: CountEntry | None  # this person's newest entry, unless it is blank
    others: tuple[CountEntry, ...]  # other people's
    record: Record  # hidden until the entry is in
    converter: Converter | None  # None: its measures do not fit together
    fault: str  # why there is no converter
    tares: Mapping[str, TypedQuantity]
    question: Slip | None = None  # about the own entry, and not answered yet
    unread: CountEntry | None = None  # this person's, newer than the own and not read
    counting_unit: str | None = None  # what a bare number means; None: it is asked

    @property
    def is_counted(self) -> bool:
        """Whether anybody has counted it."""
        return self.own is not None or bool(self.others)

    @property
    def unit_choices(self) -> tuple[str, ...]:
        """The units that a bare number may mean, smallest first."""
        return () if self.converter is None else unit_choices(self.converter)

    def with_unit(self, text: str, unit: str | None = None) -> str:
        """Return a text with its unit where it is a bare number, else as it is."""
        if self.converter is None:
            return text
        chosen = unit if unit in self.unit_choices else self.counting_unit
        return with_unit(text, self.converter, self.tares, chosen)

    @property
    def unit_words(self) -> tuple[str, ...]:
        """The words to write amounts in, largest first: case, stick, lb."""
        if self.converter is None:
            return (self.line.item.base_unit,)
        own = [own.word for own in self.converter.own_words]
        everyday = {"g": "lb", "mL": "quart", "each": "each"}[self.converter.base_unit]
        return tuple(dict.fromkeys([*own, everyday]))


@dataclass(frozen=True, slots=True)
class CountSheet:
    """What one place of a count has on its sheet, in walking order."""

    count: Count
    place: Place
    lines: tuple[SheetLine, ...]

    @property
    def left(self) -> int:
        """How many lines nobody has counted yet."""
        return sum(not line.is_counted for line in self.lines)


@dataclass(frozen=True, slots=True)
class Look:
    """A count as it stands: its walk, what everybody said, what is known of it."""

    walk: Walk
    entries: tuple[CountEntry, ...]  # kept ones too, as they came
    typed: tuple[CountTyped, ...]  # and not entered, as devices say
    standings: Mapping[LineKey, Standing]
    records: Mapping[LineKey, Record]
    converters: Mapping[int, Converter]
    faults: Mapping[int, str]
    tares: Mapping[tuple[int, int], Mapping[str, TypedQuantity]]

    def counting_units(self) -> dict[int, str | None]:
        """Return what a bare number of each item means. One query."""
        items = {line.item.pk: line.item for line in self.walk.lines}
        return counting_units(items, self.converters)


def sheet(count_id: int, place_id: int, *, by_id: int | None = None) -> CountSheet:
    """Return the sheet of one place, with this person's own entries on it."""
    for each in sheets(count_id, by_id=by_id):
        if each.place.pk == place_id:
            return each
    raise UnknownCountError(count_id)


def sheets(count_id: int, *, by_id: int | None = None) -> list[CountSheet]:
    """Return the sheets of all places of a count, in walking order.

    A dozen queries, however many places and lines.
    """
    seen = look(count_id)
    questions = open_questions(seen)
    units = seen.counting_units()
    return [
        CountSheet(
            seen.walk.count,
            place,
            tuple(
                _sheet_line(line, seen, questions.get(line.key), units, by_id)
                for line in seen.walk.lines_by_place()[place.pk]
            ),
        )
        for place in seen.walk.places
    ]


def look(count_id: int) -> Look:
    """Return everything that is known of a count. A dozen queries."""
    count = Count.objects.filter(pk=count_id).first()
    if count is None:
        raise UnknownCountError(count_id)
    return look_at(count)


def look_at(count: Count) -> Look:
    """Return everything that is known of a count that is read already."""
    entries = tuple(
        CountEntry.objects.filter(count=count).select_related(
            "by", "claimed_by", "item"
        )
    )
    decisions = CountDecision.objects.filter(count=count).select_related("by")
    typed = tuple(typed_of(count.pk))
    standing_by_line = standings(entries, decisions, typed)
    walked = walk(count, standing_by_line)
    item_ids = {line.item.pk for line in walked.lines}
    compiled, faults = compiled_or_broken(item_ids)
    return Look(
        walk=walked,
        entries=entries,
        typed=typed,
        standings=standing_by_line,
        records=records(walked, Past(item_ids), standing_by_line),
        converters=compiled,
        faults=faults,
        tares=tares.tares_by_shelf(
            (line.place.pk, line.item.pk) for line in walked.lines
        ),
    )


def _sheet_line(
    line: WalkLine,
    seen: Look,
    question: Slip | None,
    units: Mapping[int, str | None],
    by_id: int | None,
) -> SheetLine:
    standing = seen.standings.get(line.key)
    entries = standing.entries if standing else ()
    unread = standing.unread if standing else ()
    own = [entry for entry in entries if entry.by_id == by_id]
    return SheetLine(
        line=line,
        own=own[-1] if own else None,
        others=tuple(entry for entry in entries if entry.by_id != by_id),
        record=seen.records[line.key],
        converter=seen.converters.get(line.item.pk),
        fault=seen.faults.get(line.item.pk, ""),
        tares=seen.tares[line.place.pk, line.item.pk],
        question=question if own else None,
        unread=next((each for each in unread if each.by_id == by_id), None),
        counting_unit=units.get(line.item.pk),
    )
