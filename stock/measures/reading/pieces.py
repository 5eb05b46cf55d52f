"""Goes through the pieces of a quantity: looks ahead, takes, says what is wrong."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import QuantityError
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.item_units import ItemUnits
from stock.measures.nouns import name_forms, noun_forms
from stock.measures.reading.advice import (
    Advice,
)
from stock.measures.reading.meanings import is_exact
from stock.measures.reading.systems import bare_units
from stock.measures.reading.terms import TypedQuantity
from stock.measures.reading.tokens import Token, tidy, tokens_of
from stock.measures.reading.vocabulary import (
    ABOUT_MARKS,
    ABOUT_WORDS,
    GRAMMAR_WORDS,
    JOINING_WORDS,
    LESS_WORDS,
    MINUS_MARKS,
    MOST_WORDS_A_UNIT,
    NO,
    NUMBER_BY_WORD,
    SHARE_BY_WORD,
    Notation,
)
from stock.measures.units import UNIT_BY_WORD, word_key


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """A number as it was read: its values, the likelier first.

    `ratio` is what stands above and below a plain slash: of some units that may be so
    many of that size.
    """

    values: tuple[Fraction, ...]
    text: str
    ratio: tuple[int, int] | None = None
    is_doubtful: bool = False


class PieceReader:
    """Goes through the pieces of one text: looks ahead, takes, says what is wrong."""

    def __init__(
        self,
        text: str,
        converter: ItemUnits | None,
        notation: Notation,
        tares: Mapping[str, TypedQuantity] | None = None,
        counting_unit: str | None = None,
    ) -> None:
        self.text = tidy(text)
        self.converter = converter
        self.notation = notation
        self.counting_unit = counting_unit
        self.tare_by_key = {
            word_key(name): tare for name, tare in (tares or {}).items()
        }
        name = "" if converter is None else converter.item_name
        self.name_forms, self.noun_forms = name_forms(name), noun_forms(name)
        self.tokens = list(tokens_of(self.text, self.is_known))
        self.place = 0
        self.last = ReadNumber((Fraction(0),), "")  # the number that was read last

    @property
    def advice(self) -> Advice:
        """What to write instead."""
        return Advice(self.converter)

    @property
    def bare_units(self) -> tuple[str, ...]:
        """The units that a bare number may mean, smallest first."""
        return () if self.converter is None else bare_units(self.converter)

    def is_known(self, key: str) -> bool:
        """Whether a word with a dash in it is one word."""
        if self.converter is None:
            first = key.split("-")[0]
            return first not in NUMBER_BY_WORD and first not in SHARE_BY_WORD
        return is_exact(key, self.converter) or key in self.tare_by_key

    def is_own(self, word: str) -> bool:
        """Whether a word is one of the item's own."""
        key = word_key(word)
        return self.converter is not None and key in self.converter.own_by_form

    def known_base(self, word: str) -> str:
        """Return a word that the item can convert, or raise why it cannot."""
        if self.converter is not None:
            self.converter.unit_base(word)
        return word

    def peek(self, ahead: int = 0) -> Token:
        """Return the next piece, or one further on, without taking it."""
        if self.place + ahead < len(self.tokens):
            return self.tokens[self.place + ahead]
        return Token("end", "", len(self.text))

    def take_word(self, keys: Collection[str]) -> bool:
        """Take the next piece if it is one of these words."""
        return self._take("word", keys)

    def take_mark(self, marks: Collection[str]) -> bool:
        """Take the next piece if it is one of these marks."""
        return self._take("mark", marks)

    def _take(self, kind: str, keys: Collection[str]) -> bool:
        if self.peek().kind == kind and self.peek().key in keys:
            self.place += 1
            return True
        return False

    def unit_length(self) -> int:
        """Return how many of the next words are, together, a unit or an own word."""
        for length in range(MOST_WORDS_A_UNIT, 0, -1):
            words = [self.peek(ahead) for ahead in range(length)]
            if all(word.kind == "word" for word in words):
                key = word_key(" ".join(word.text for word in words))
                if self.converter is not None and is_exact(key, self.converter):
                    return length
        return self._run_length() if self.converter is None else 0

    def _run_length(self) -> int:
        """Of no item yet all the words up to the next number or joiner are one unit."""
        length = 0
        while self.peek(length).kind == "word":
            key = self.peek(length).key
            begins = length or key in SHARE_BY_WORD or key not in GRAMMAR_WORDS
            if key in JOINING_WORDS | LESS_WORDS or not begins:
                break
            length += 1
        return length

    def error(self, fault: MeasureFault, position: int) -> QuantityError:
        """Return the error for a place in the text."""
        return QuantityError(self.text, position, fault)

    def explained(self) -> QuantityError:
        """Return the error for what cannot be read here, with what to write."""
        token = self.peek()
        before = self.tokens[self.place - 1] if self.place else None
        is_dash = token.kind == "mark" and token.text in MINUS_MARKS
        if before is not None and self._is_number(before):
            return self.error(self._no_unit(is_dash=is_dash), token.start)
        if token.kind == "end":
            return self.error(self._nothing_after(before), token.start)
        if is_dash:
            kind = FaultKind.MINUS if self.place else FaultKind.NEGATIVE
            return self.error(self.advice.fault(kind), token.start)
        if unit := self._unit_here():
            return self.error(self.advice.no_number(unit), token.start)
        if token.text in {",", ";", "&"}:
            fault = self.advice.between_parts(FaultKind.MISPLACED_MARK, token.text)
            return self.error(fault, token.start)
        what = token.text if token.kind != "word" else self.text[token.start :]
        return self.error(self.advice.fault(FaultKind.UNREADABLE, what), token.start)

    def _no_unit(self, *, is_dash: bool) -> MeasureFault:
        if is_dash:
            return MeasureFault(FaultKind.DASH)
        if self.last.text.casefold() == NO:
            return self.advice.fault(FaultKind.NOTHING_OF_WHAT)
        return self.advice.no_unit(self.last.text, self.last.values[0])

    def _nothing_after(self, before: Token | None) -> MeasureFault:
        if before is None or before.key in ABOUT_WORDS | ABOUT_MARKS:
            return self.advice.fault(FaultKind.EMPTY)
        is_less = before.key in LESS_WORDS or before.text in MINUS_MARKS
        if is_less:
            return MeasureFault(FaultKind.NO_TARE)
        return self.advice.between_parts(FaultKind.MISSING_PART)

    def _unit_here(self) -> str:
        """Return the unit, or the item's name, that stands here without a number."""
        token, length = self.peek(), self.unit_length()
        if token.kind != "word":
            return ""
        unit = " ".join(self.peek(ahead).text for ahead in range(length or 1))
        converter = self.converter
        if converter is not None and token.key in self.noun_forms:
            return unit if converter.amount_of("each") is not None else ""
        if not length:
            return ""
        if converter is None:
            return unit if word_key(unit) in UNIT_BY_WORD else ""
        return unit if converter.amount_of(unit) is not None else ""

    def _is_number(self, token: Token) -> bool:
        is_number_word = token.kind == "word" and (
            token.key in NUMBER_BY_WORD or token.key in SHARE_BY_WORD
        )
        return token.kind == "number" or is_number_word
