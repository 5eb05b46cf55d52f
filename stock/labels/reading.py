"""A label as it was scanned or typed, read into a record: what is sure, what is not.

GS1 element strings by `biip`, one after the other, so that what cannot be read takes
nothing along; plain item numbers (EAN, UPC, ITF-14) by their check digit. Two readings
of one text are a doubt that carries both, never a guess.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from datetime import date
from decimal import Decimal
from enum import Enum, auto
from typing import Any

from biip import ParseError
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_element_strings import GS1ElementString

from stock.entry.gtin import read_gtin
from stock.errors import GtinError
from stock.labels.dates import is_likely, read_date
from stock.labels.scanned import GS1_KINDS, ITEM_KINDS, Piece, Scanned, cut

MOST_CHARACTERS = 400
FIELD_OF_DATE = {
    "11": "made_on",
    "13": "packed_on",
    "15": "best_before",
    "16": "sell_by",
    "17": "use_by",
}
DATE = re.compile("(1[13567])([0-9]{6})")
# An identifier of what is often put behind a lot, with all of its digits, at the end.
SWALLOWED = re.compile("(.+?)((?:1[13567][0-9]{6})+|01[0-9]{14}|3[12]0[0-5][0-9]{6})")
ITEM_NUMBER = re.compile("[0-9]{8}|[0-9]{12,14}")
OWN_LOT = re.compile("LOT([0-9]{1,18})")
GTIN_DIGITS = 14


class Doubtful(Enum):
    """Why something on a label is not taken for sure."""

    CHECK_DIGIT = auto()  # the item number's last digit does not fit the others
    STORE_NUMBER = auto()  # a store's own number, that means nothing elsewhere
    NO_SUCH_DAY = auto()
    UNLIKELY_YEAR = auto()
    SWALLOWED = auto()  # a lot may have swallowed what stood behind it
    TWO_READINGS = auto()  # an item number, or elements
    SAID_TWICE = auto()  # and not alike
    JUNK = auto()  # characters that no label has
    UNREAD = auto()  # the rest


@dataclass(frozen=True, slots=True)
class Doubt:
    """What of a label is not sure: the text as it stands there, and why."""

    why: Doubtful
    text: str
    name: str = ""  # the field of a Label that it would be
    day: date | None = None  # a date that is read, but not believed


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says; blank or None where it does not, or not for sure."""

    gtin: str = ""  # 14 digits, the check digit fits
    lot: str = ""
    use_by: date | None = None
    best_before: date | None = None
    sell_by: date | None = None
    packed_on: date | None = None
    made_on: date | None = None
    weight: Decimal | None = None  # net, in `weight_unit`
    weight_unit: str = ""  # kg or lb
    count: int | None = None
    price: Decimal | None = None  # of what it is on
    own_lot_id: int | None = None  # of a label that was printed here
    doubts: tuple[Doubt, ...] = field(default=())

    @property
    def last_day(self) -> date | None:
        """The day to go by: use by, else best before, else sell by."""
        return self.use_by or self.best_before or self.sell_by

    @property
    def names_something(self) -> bool:
        """Whether an item can be found by it."""
        return bool(self.gtin or self.own_lot_id)

    @property
    def is_empty(self) -> bool:
        """Whether nothing on it was read for sure."""
        return self == Label(doubts=self.doubts)


def read_label(text: str, *, today: date) -> Label:
    """Return what a scanned or typed label says, with what is not sure of it."""
    text = text.strip(" \t\r\n")
    if len(text) > MOST_CHARACTERS:
        return Label(doubts=(Doubt(Doubtful.UNREAD, text[:40]),))
    if text.lower().startswith(("http://", "https://")):
        return _of_address(text, today)
    scanned = cut(text)
    label = _of_elements(scanned, today)
    if scanned.kind not in GS1_KINDS and ITEM_NUMBER.fullmatch(scanned.text):
        label = _of_number(scanned, label)
    if scanned.junk:
        label = _doubting(label, Doubt(Doubtful.JUNK, scanned.junk))
    return label


def joined(first: Label, second: Label) -> Label | None:
    """Return what two bar codes of one case say; None where they are of two cases."""
    values: dict[str, Any] = {}
    for each in fields(Label):
        one, other = getattr(first, each.name), getattr(second, each.name)
        if each.name == "doubts":
            values["doubts"] = one + other
        elif one and other and one != other:
            return None
        else:
            values[each.name] = one or other
    return Label(**values)


def _of_number(scanned: Scanned, label: Label) -> Label:
    """Return the record of a bare number, if nothing better can be made of it."""
    has_date = label.last_day or label.packed_on or label.made_on
    is_item = scanned.kind in ITEM_KINDS
    try:
        gtin = read_gtin(scanned.text).zfill(GTIN_DIGITS)
    except GtinError:
        if has_date and not is_item:
            return label
        return Label(doubts=(Doubt(Doubtful.CHECK_DIGIT, scanned.text, "gtin"),))
    if has_date and not is_item:
        return Label(doubts=(Doubt(Doubtful.TWO_READINGS, scanned.text, "gtin"),))
    return _with_gtin(Label(), gtin)


def _of_address(text: str, today: date) -> Label:
    """Return the record of a GS1 Digital Link, which is an address."""
    try:
        found = GS1DigitalLinkURI.parse(text).element_strings
    except ParseError:
        return Label(doubts=(Doubt(Doubtful.UNREAD, text),))
    label = Label()
    for element in found:
        label = _with_element(label, element, today)
    return label


def _of_elements(scanned: Scanned, today: date) -> Label:
    label = Label()
    for piece in scanned.pieces:
        label = _of_piece(label, piece, today)
    return label


def _of_piece(label: Label, piece: Piece, today: date) -> Label:
    rest = piece.text
    while rest:
        if found := DATE.match(rest):
            label = _with_date(label, found.group(1), found.group(2), today)
            rest = rest[found.end() :]
            continue
        try:
            element = GS1ElementString.extract(rest)
        except ParseError:
            return _doubting(label, Doubt(Doubtful.UNREAD, rest))
        is_last = len(element) == len(rest)
        if element.ai.separator_required and not piece.is_closed:
            if not is_last:
                return _doubting(label, Doubt(Doubtful.SWALLOWED, rest, "lot"))
            if _has_swallowed(element, today):
                doubt = Doubt(Doubtful.SWALLOWED, element.value, "lot")
                return _doubting(label, doubt)
        elif element.ai.separator_required and not is_last:
            return _doubting(label, Doubt(Doubtful.UNREAD, rest))
        label = _with_element(label, element, today)
        rest = rest[len(element) :]
    return label


def _has_swallowed(element: GS1ElementString, today: date) -> bool:
    """Whether a text that nothing closes may hold what stood behind it."""
    found = SWALLOWED.fullmatch(element.value)
    if found is None or OWN_LOT.fullmatch(element.value):
        return False
    days = list(_days(found.group(2), today))
    return all(day and is_likely(day, today) for day in days)


def _days(elements: str, today: date) -> Iterator[date | None]:
    while found := DATE.match(elements):
        yield read_date(found.group(2), today)
        elements = elements[found.end() :]


def _with_element(label: Label, element: GS1ElementString, today: date) -> Label:
    ai, value = element.ai.ai, element.value
    if ai in FIELD_OF_DATE:
        return _with_date(label, ai, value, today)
    if ai == "01":
        return _with_gtin(label, value)
    if ai == "10":
        return _with(label, "lot", value, value)
    if ai == "30":
        return _with(label, "count", int(value), value)
    if ai[:3] in ("310", "320"):
        unit = "kg" if ai[:3] == "310" else "lb"
        known = label.weight is not None and label.weight_unit != unit
        # The same weight in both units is one weight; the first is taken.
        if known:
            return label
        return _with(replace(label, weight_unit=unit), "weight", element.decimal, value)
    if ai[:3] in ("392", "393"):
        return _with(label, "price", element.decimal, value)
    if ai == "91" and (found := OWN_LOT.fullmatch(value)):
        return _with(label, "own_lot_id", int(found.group(1)), value)
    return label


def _with_gtin(label: Label, digits: str) -> Label:
    try:
        read_gtin(digits)
    except GtinError:
        return _doubting(label, Doubt(Doubtful.CHECK_DIGIT, digits, "gtin"))
    # GS1 prefixes 02 and 20 to 29 are given out by the store that weighs or packs.
    if digits.startswith(("02", "002")):
        return _doubting(label, Doubt(Doubtful.STORE_NUMBER, digits, "gtin"))
    return _with(label, "gtin", digits, digits)


def _with_date(label: Label, ai: str, digits: str, today: date) -> Label:
    name, day = FIELD_OF_DATE[ai], read_date(digits, today)
    if day is None:
        return _doubting(label, Doubt(Doubtful.NO_SUCH_DAY, digits, name))
    if not is_likely(day, today):
        return _doubting(label, Doubt(Doubtful.UNLIKELY_YEAR, digits, name, day))
    return _with(label, name, day, digits)


def _with(label: Label, name: str, value: Any, text: str) -> Label:
    """Return a label that says one thing more; what it says twice stays as it was."""
    known = getattr(label, name)
    if known and known != value:
        return _doubting(label, Doubt(Doubtful.SAID_TWICE, text, name))
    return replace(label, **{name: value})


def _doubting(label: Label, doubt: Doubt) -> Label:
    return replace(label, doubts=(*label.doubts, doubt))
