"""Questions about figures that may be slips: something to decide, like two figures.

So is a figure whose writer entered another since that could not be read, or typed
another and did not enter it.

A question is open until its counter confirms the figure or enters another, or until
somebody decides it in the review. It is worked out anew each time: a delivery that is
booked late, or the other place that is counted at last, answers it too.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from stock.counts.lines import LineKey, Standing
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.reading.spoken import read_spoken
from stock.measures.slips import Record, Slip, question
from stock.models import CountEntry

if TYPE_CHECKING:
    from stock.counts.sheets import Look


def open_questions(seen: "Look") -> dict[LineKey, Slip]:
    """Return what is still to be answered, by line. No query."""
    questions = {}
    for key, standing in seen.standings.items():
        converter = seen.converters.get(key.item_id)
        record = seen.records.get(key)
        if converter is None or record is None or is_answered(standing):
            continue
        tares = seen.tares[key.place_id, key.item_id]
        if slip := entry_question(standing.entries[-1], record, converter, tares):
            questions[key] = slip
    return questions


def unread_words(seen: "Look") -> list[str]:
    """Return the lines whose newest entry could not be read, with what it says."""
    return [
        _('{name} in {name2}, "{quoted}"').format(
            name=line.item.name, name2=line.place.name, quoted=entry.quoted
        )
        for line in seen.walk.lines
        if (standing := seen.standings.get(line.key)) and standing.is_unread
        for entry in standing.unread
    ]


def typed_words(seen: "Look") -> list[str]:
    """Return the lines with something newer that is not entered, and what it says."""
    return [
        _('{name} in {name2}, "{text}"').format(
            name=line.item.name, name2=line.place.name, text=row.text
        )
        for line in seen.walk.lines
        if (standing := seen.standings.get(line.key))
        for row in standing.typed
    ]


def is_answered(standing: Standing) -> bool:
    """Whether nothing is to be asked: no one figure, or one that somebody vouched for.

    Two different figures are decided first, and so is a figure that an entry which
    could not be read was to replace. Who confirmed the same figure answers for the
    others who entered it.
    """
    if not standing.entries or standing.is_conflict or standing.is_unread:
        return True
    if standing.decided_base is not None:
        return True
    return any(entry.confirmed for entry in standing.entries)


def entry_question(
    entry: CountEntry,
    record: Record,
    converter: Converter,
    tares: Mapping[str, TypedQuantity] | None,
) -> Slip | None:
    """Return what to ask about an entry; None where it is ordinary or confirmed."""
    if entry.kept or entry.confirmed:
        return None
    try:
        spoken = read_spoken(entry.text, converter, tares)
    except MeasureError:
        return None
    return question(spoken, record, converter) if spoken else None
