"""The kinds of values that a cell of a kitchen's sheets or a field of a form may hold.

Pure: no Django, no clock. A kind reads what a person typed or what a spreadsheet
hands over (text, a number, a date, yes or no) and says in a sentence what is wrong
with it. Reading what a kind has read gives the same value again. A kind never sees
a blank cell: what blank means is its column's matter.
"""

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Protocol

from django.utils.translation import gettext as _

from stock.entry.gtin import read_gtin
from stock.errors import GtinError, StockError
from stock.measures.household import reference_foods
from stock.measures.reading.amounts import number_in_words

LARGEST_WHOLE_NUMBER = 2**31 - 1  # what both databases keep in a whole-number column
# Of what is no free text: a number, a day, one word of a few. More is a slip.
LONGEST_VALUE = 100
# A spreadsheet keeps 15 significant digits; what a float shows beyond is noise.
SPREADSHEET_DIGITS = 15
FOOD_NUMBER_DIGITS = 5  # of the NDB numbers in the published weights

# Control characters, marks of no width that turn or split words unseen, and halves
# of characters. A joiner (U+200D) is none of them: it holds emoji together.
UNSEEN_CHARACTERS = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b\u2028-\u202e\u2060\u2066-\u2069"
    r"\ud800-\udfff\ufeff]"
)
PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")


class CellError(StockError):
    """A value that its column cannot take; the sentence says what to write."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A cell of a file that stands for no value, and what to do about it."""

    message: str


class CellKind(Protocol):
    """How a column reads a cell, and how it writes a value back."""

    def parse(self, value: object) -> Any:
        """Return the value that a cell that is not blank stands for."""

    def cell(self, value: Any) -> object:
        """Return what a spreadsheet cell holds for a value; None is blank."""

    def text(self, value: Any) -> str:
        """Return the value as a form shows it and `parse` reads it."""


def is_blank(value: object) -> bool:
    """Whether a cell holds nothing, or nothing but spaces."""
    return value is None or (isinstance(value, str) and not value.strip())


def too_long(letters: int, most: int) -> str:
    """Return the sentence for a text of too many letters."""
    return _("It is {letters} letters long; write at most {most}.").format(
        letters=letters, most=most
    )


def plain_text(value: object) -> str:
    """Return a cell's value as text, as a person would have typed it.

    >>> plain_text(10045.0)
    '10045'
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        value = _decimal_of_float(value)
    if isinstance(value, Decimal):
        return _plain_decimal(value)
    if isinstance(value, datetime) and value.time() == time(0):
        value = value.date()
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value).strip()


def _decimal_of_float(value: float) -> Decimal:
    return Decimal(f"{value:.{SPREADSHEET_DIGITS}g}")


def _plain_decimal(value: Decimal) -> str:
    if not value.is_finite():
        return str(value)
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True)
class Text:
    """Any words, stripped of outer spaces."""

    max_length: int = 200

    def parse(self, value: object) -> str:
        """Return the words, accents composed so that equal names are equal."""
        text = unicodedata.normalize("NFC", plain_text(value).replace("\r\n", "\n"))
        if UNSEEN_CHARACTERS.search(text):
            raise CellError(
                _("It has characters in it that cannot be seen. Type it anew.")
            )
        if len(text) > self.max_length:
            raise CellError(too_long(len(text), self.max_length))
        return text

    def cell(self, value: Any) -> object:
        """Return the words; None for none."""
        return value or None

    def text(self, value: Any) -> str:
        """Return the words."""
        return value or ""


@dataclass(frozen=True, slots=True)
class Name(Text):
    """What something is called: words on one line."""

    max_length: int = 120

    def parse(self, value: object) -> str:
        """Return the name."""
        text = Text.parse(self, value)
        if "\n" in text or "\t" in text:
            raise CellError(_("Write it on one line."))
        return text


@dataclass(frozen=True, slots=True)
class Quantity(Text):
    """A number and a unit as people write them; kept exactly as typed.

    What the words come to depends on the item, so that is checked by the job.
    """


@dataclass(frozen=True, slots=True)
class Email(Text):
    """One mail address."""

    max_length: int = 254

    def parse(self, value: object) -> str:
        """Return the address."""
        text = Text.parse(self, value)
        if not re.fullmatch(r"[^@\s;,]+@[^@\s;,]+\.[^@\s;,]+", text):
            raise CellError(
                _("{text!r} isn't a mail address. Write it as name@place.com.").format(
                    text=text
                )
            )
        return text


@dataclass(frozen=True, slots=True)
class FoodNumber(Text):
    """The number of a food whose published weights an item goes by: 01145."""

    def parse(self, value: object) -> str:
        """Return the number; a spreadsheet may have lost the noughts before it."""
        text = Text.parse(self, value)
        number = text.zfill(FOOD_NUMBER_DIGITS) if text.isdecimal() else text
        if number and number not in reference_foods():
            raise CellError(
                _(
                    "{text!r} isn't a food of the published weights. Leave it blank, "
                    "or look its weights up on the item's page."
                ).format(text=text)
            )
        return number


@dataclass(frozen=True, slots=True)
class BarCode(Text):
    """The bar code of a trade item, whose last digit checks the others."""

    def parse(self, value: object) -> str:
        """Return the digits."""
        try:
            return read_gtin(Text.parse(self, value))
        except GtinError as error:
            raise CellError(str(error)) from error


@dataclass(frozen=True, slots=True)
class Words(Text):
    """Several names split by `;`, each once, in the order given."""

    def parse(self, value: object) -> str:
        """Return the names, split by `; `."""
        parts = [part.strip() for part in Text.parse(self, value).split(";")]
        return "; ".join(dict.fromkeys(part for part in parts if part))


@dataclass(frozen=True, slots=True)
class Number:
    """A plain decimal number without a unit, within limits."""

    least: Decimal = Decimal(0)
    most: Decimal | None = None
    places: int = 4
    above_least: bool = False
    below_most: bool = False
    example: str = "2.5"

    def parse(self, value: object) -> Decimal:
        """Return the exact number."""
        number = self._within(_number(value, self.example))
        if -int(number.normalize().as_tuple().exponent) > self.places:
            raise CellError(
                _("{plain_decimal} has more than {places} decimal places.").format(
                    plain_decimal=_plain_decimal(number), places=self.places
                )
            )
        return number

    def _within(self, number: Decimal) -> Decimal:
        if self.above_least and number <= self.least:
            raise CellError(_("It must be above {least}.").format(least=self.least))
        if number < self.least:
            raise CellError(_("It must be {least} or more.").format(least=self.least))
        if self.most is None:
            return number
        if self.below_most and number >= self.most:
            raise CellError(_("It must be below {most}.").format(most=self.most))
        if number > self.most:
            raise CellError(_("It must be at most {most}.").format(most=self.most))
        return number

    def cell(self, value: Any) -> object:
        """Return a number without needless zeros; None for none."""
        return None if value is None else Decimal(_plain_decimal(Decimal(value)))

    def text(self, value: Any) -> str:
        """Return the number's digits."""
        return "" if value is None else _plain_decimal(Decimal(value))


def _number(value: object, example: str) -> Decimal:
    text = plain_text(value)
    if (said := number_in_words(text)) is not None:
        return said
    if "," in text:
        raise CellError(
            _(
                "{text!r} has a comma in it. Write a point for decimals, and "
                "nothing between thousands, like {example}."
            ).format(text=text, example=example)
        )
    if isinstance(value, bool) or not PLAIN_NUMBER.fullmatch(text):
        raise CellError(
            _("{text!r} isn't a number. Write a bare number like {example}.").format(
                text=text, example=example
            )
        )
    return Decimal(text)


@dataclass(frozen=True, slots=True)
class WholeNumber:
    """A whole number within limits; a spreadsheet's 3.0 is 3."""

    least: int = 0
    most: int = LARGEST_WHOLE_NUMBER

    def parse(self, value: object) -> int:
        """Return the whole number."""
        number = _number(value, "3")
        if number != number.to_integral_value():
            raise CellError(
                _("{plain_decimal} isn't a whole number.").format(
                    plain_decimal=_plain_decimal(number)
                )
            )
        if not self.least <= number <= self.most:
            raise CellError(
                _("It must be a whole number from {least} to {most}.").format(
                    least=self.least, most=self.most
                )
                if number > self.most
                else _("It must be {least} or more.").format(least=self.least)
            )
        return int(number)

    def cell(self, value: Any) -> object:
        """Return the number; None for none."""
        return value

    def text(self, value: Any) -> str:
        """Return the number's digits."""
        return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class YesNo:
    """Yes, or blank for no."""

    def parse(self, value: object) -> bool:
        """Return whether the cell says yes."""
        text = plain_text(value).casefold()
        if text in ("yes", "y", "true", "on", "x", "1"):
            return True
        if text in ("no", "n", "false", "0"):
            return False
        raise CellError(
            _(
                "{plain_text!r} is neither yes nor no. Write yes, or leave it blank."
            ).format(plain_text=plain_text(value))
        )

    def cell(self, value: Any) -> object:
        """Return yes, or None."""
        return "yes" if value else None

    def text(self, value: Any) -> str:
        """Return yes, or nothing."""
        return "yes" if value else ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    choices: tuple[str, ...]
    labels: tuple[str, ...] = ()  # what a form shows, in the same order

    def parse(self, value: object) -> str:
        """Return the word as the program writes it."""
        text = plain_text(value)
        for choice in self.choices:
            if choice.casefold() == text.casefold():
                return choice
        raise CellError(
            _("{text!r} is not known here. Write {one_of}.").format(
                text=text, one_of=_one_of(self.choices)
            )
        )

    def cell(self, value: Any) -> object:
        """Return the word; None for none."""
        return value or None

    def text(self, value: Any) -> str:
        """Return the word."""
        return value or ""


def _one_of(choices: tuple[str, ...]) -> str:
    if len(choices) == 1:
        return _("{choices} or leave it blank").format(choices=choices[0])
    return _("{choices} or {choices2}").format(
        choices=", ".join(choices[:-1]), choices2=choices[-1]
    )
