"""What a count's sheet tells its scripts, as plain JSON: words, rules, lines.

With it a phone reads, echoes and asks about entries by itself, with no network.
"""

from collections.abc import Mapping
from typing import Any

from stock.counts.sheets import SheetLine
from stock.measures.conversion import Converter
from stock.measures.counting_units import unit_choices
from stock.measures.nouns import piece_words
from stock.measures.reading.echo import everyday_units
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.reading.spoken import grammar_for_phone, words_for_phone
from stock.measures.reading.systems import EVERYDAY_UNITS, speaks_in_dozens, system_of
from stock.measures.slips import Record, Slip, rules_for_phone
from stock.models import CountEntry
from stock.web.counts.lines import entry_words, record_words, who

MOST_OWN_BUTTONS = 4


def phone_words(
    converter: Converter,
    tares: Mapping[str, TypedQuantity],
    counting_unit: str | None = None,
) -> dict[str, object]:
    """Return the words of one item for reading, echo and buttons."""
    unit, small_unit = everyday_units(converter)
    units = EVERYDAY_UNITS[converter.measure, system_of(converter)]
    if speaks_in_dozens(converter):
        units = ("dozen", *units)
    own = [word.word for word in converter.own_words[:MOST_OWN_BUTTONS]]
    given_in = {term.unit for word in converter.own_words for term in word.holds.terms}
    return {
        **words_for_phone(converter, counting_unit),
        "unit": unit,
        "small_unit": small_unit,
        "buttons": [*own, *(unit for unit in units if unit not in own)],
        "given_in": sorted(given_in),
        "noun": piece_words(converter),
        "tares": {
            name: [[str(term.number), term.unit] for term in tare.terms]
            for name, tare in tares.items()
        },
    }


def phone_line(line: SheetLine) -> dict[str, object]:
    """Return one line: its words, its record, and what was said of it."""
    key, own = line.line.key, line.own
    on_record = record_words(line)
    return {
        **_words(line),
        "item_id": key.item_id,
        "use_by": key.use_by.isoformat() if key.use_by else None,
        "lot_code": key.lot_code,
        "record": _record(line.record, on_record),
        "on_record": on_record,
        "mine": _mine(own) if own else None,
        "question": question_json(line.question),
        "others": [
            {"by": who(entry), "words": entry_words(entry, line.converter)}
            for entry in line.others
        ],
    }


def _mine(own: CountEntry) -> dict[str, str]:
    return {"key": str(own.key), "text": own.text, "typed": own.quoted}


def question_json(slip: Slip | None) -> dict[str, str] | None:
    """Return a question with both readings, as the sheet asks it by itself."""
    if slip is None:
        return None
    return {
        "kind": slip.kind.value,
        "sentence": slip.sentence,
        "entered": slip.entered.text,
        "instead": slip.instead.text if slip.instead else "",
    }


def phone_rules() -> dict[str, Any]:
    """Return what is the same for every line: the grammar and the slip rules."""
    return {"grammar": grammar_for_phone(), "rules": rules_for_phone()}


def phone_items(
    converters: Mapping[int, Converter], counting_units: Mapping[int, str | None]
) -> list[dict[str, object]]:
    """Return the words of items that may be found where the sheet does not list them.

    Without tares: those of another item's bins are not theirs.
    """
    return [
        {
            **phone_words(converter, {}, counting_units.get(item_id)),
            "unit_choices": list(unit_choices(converter)),
            "item_id": item_id,
            "record": _record(None, ""),
        }
        for item_id, converter in converters.items()
    ]


def _words(line: SheetLine) -> dict[str, object]:
    if line.converter is not None:
        units = {"unit_choices": list(line.unit_choices)}
        return phone_words(line.converter, line.tares, line.counting_unit) | units
    item = line.line.item
    nothing: dict[str, object] = {
        "words": [],
        "buttons": [],
        "given_in": [],
        "noun": None,
    }
    return {
        **nothing,
        "item": item.name,
        "base_unit": item.base_unit,
        "counting_unit": None,
        "bare_units": [],
        "unit_choices": [],
        "unit": item.base_unit,
        "small_unit": item.base_unit,
        "units": {},
        "tares": {},
        "broken": line.fault,
    }


def _record(record: Record | None, words: str) -> dict[str, object]:
    record = record or Record(expected_base=None)
    return {
        "expected_base": record.expected_base,
        "usual_base": record.usual_base,
        "middle": record.spread.middle,
        "width": record.spread.width,
        "not_counted_yet": list(record.not_counted_yet),
        "words": words,
    }
