"""How one line of a count's sheet is named and said on a page."""

from datetime import date

from django.utils import timezone
from django.utils.translation import gettext as _

from stock.counts.lines import LineKey
from stock.counts.sheets import CountSheet, SheetLine
from stock.errors import MeasureError
from stock.measures.amount_words import amount_words, stated_amount_words
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.reading.echo import spelled_out
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.models import CountEntry
from stock.web.shelves.date_words import use_by_words
from stock.wording.names import person_name


def field_name(key: LineKey) -> str:
    """Return the name of a line's field, the same whenever the page is made."""
    dated = f"-{key.use_by:%Y%m%d}" if key.use_by else ""
    coded = f"-{key.lot_code.encode().hex()}" if key.lot_code else ""
    return f"line-{key.item_id}{dated}{coded}"


def lot_words(use_by: date | None, lot_code: str = "") -> str:
    """Return a use-by and a lot as one says them: use by Friday, lot 7."""
    parts = []
    if use_by:
        words = use_by_words(use_by, timezone.localdate())
        parts.append(
            _("use {words}").format(words=words) if words.startswith("by ") else words
        )
    if lot_code:
        parts.append(_("lot {lot_code}").format(lot_code=lot_code))
    return ", ".join(parts)


def entry_words(entry: CountEntry, converter: Converter | None) -> str:
    """Return an entry as it was understood: 2 cases + 6 lb."""
    if entry.amount_base is None:
        return _("not counted")
    if converter is None:
        return entry.text
    return stated_amount_words(entry.amount_base, converter)


def echo_words(line: SheetLine, entry: CountEntry) -> str:
    """Return an entry's echo, as a phone says it: 2 cases + 6 lb = 78 lb.

    An entry that would be read otherwise now is said as it was understood.
    """
    converter = line.converter
    try:
        spoken = converter and read_spoken(entry.text, converter, line.tares)
    except MeasureError:
        spoken = None
    if (
        not converter
        or not spoken
        or to_ledger(spoken.amount_base) != entry.amount_base
    ):
        return entry_words(entry, converter)
    return with_noun(spoken.understood, converter)


def said_words(entry: CountEntry, words: str, converter: Converter | None) -> str:
    """Return who typed what, and the words that it was understood as.

    ada said “2c”, 2 cases. Words that were typed just so are said once; a unit that
    was added to what was typed is said too: “3”, 3 sticks = 300 g.
    """
    typed = _("{who} said “{value}”").format(
        who=who(entry), value=entry.quoted or _("blank")
    )
    if entry.typed and words and converter is not None:
        whole = _spelled(entry.text, converter)
        words = words if whole in ("", words) else f"{whole} = {words}"
    return typed if words in ("", entry.quoted) else f"{typed}, {words}"


def _spelled(text: str, converter: Converter) -> str:
    """Return an entry's text in full; blank where it cannot be read by itself."""
    try:
        spelled = spelled_out(converter.read(text), converter)
    except MeasureError:
        return ""
    return with_noun(spelled, converter)


def record_words(line: SheetLine) -> str:
    """Return what the record says at the moment of the count; blank if it never did."""
    expected_base = line.record.expected_base
    if expected_base is None or line.converter is None:
        return ""
    if expected_base < 0:
        return _("below zero")
    return amount_words(expected_base, line.converter)


def who(entry: CountEntry) -> str:
    """Return who counted, as the pages call them."""
    return person_name(entry.by, unknown="somebody")


def left_words(sheet: CountSheet) -> str:
    """Return how many lines nobody has counted yet: 3 of 60 left."""
    if not sheet.lines:
        return _("nothing listed")
    if sheet.left:
        return _("{left} of {count} left").format(
            left=sheet.left, count=len(sheet.lines)
        )
    return _("all {count} counted").format(count=len(sheet.lines))
