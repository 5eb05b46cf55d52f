"""Reads the unit of a number: a unit, an own word, `#`, a can's size, or none."""

from collections.abc import Iterable
from fractions import Fraction

from stock.errors import (
    SeveralReadingsError,
)
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.item_units import ItemUnits
from stock.measures.nouns import with_noun
from stock.measures.reading.amounts import AmountReader
from stock.measures.reading.meanings import Meanings, meanings, unmistaken
from stock.measures.reading.pieces import ReadNumber
from stock.measures.reading.terms import (
    Term,
    format_number,
    spelled_term,
)
from stock.measures.reading.tokens import Token
from stock.measures.reading.vocabulary import (
    GRAMMAR_WORDS,
    INCH_MARK,
    INCH_WORDS,
    LESS_WORDS,
    MINUS_MARKS,
    NO,
    NUMBER_BY_WORD,
    OF,
    SIZE_MARK,
    TRAILING_WORDS,
    UNIT_BY_MARK,
    Notation,
)
from stock.measures.units import Measure, word_key


class UnitReader(AmountReader):
    """Reads amounts, and what they count."""

    is_in_tare = False

    def which(
        self, readings: tuple[str, ...], *, is_pack: bool = False
    ) -> SeveralReadingsError:
        """Return the question which of several texts is meant."""
        converter = self.converter
        shown = tuple(with_noun(text, converter) for text in readings if converter)
        return SeveralReadingsError(self.text, readings, shown=shown, is_pack=is_pack)

    def _unit(
        self, amount: ReadNumber, before: Term | None, *, is_joined: bool
    ) -> Meanings:
        token = self.peek()
        if token.kind == "mark" and token.text == SIZE_MARK and self._is_size():
            return self._sized(amount)
        if token.kind == "mark" and token.text in UNIT_BY_MARK:
            self.place += 1
            return Meanings((self.known_base(UNIT_BY_MARK[token.text]),))
        if token.kind == "mark" and token.text == INCH_MARK:
            return self._inches()
        length = self.unit_length() or self._noun_length()
        is_word = token.kind == "word" and token.key not in GRAMMAR_WORDS
        if not length and not is_word:
            return self._bare(amount, before, is_joined=is_joined)
        length = length or 1
        self._refuse_point_between(self.peek(length - 1), self.peek(length))
        typed = " ".join(self.peek(ahead).text for ahead in range(length))
        self.place += length
        return self._meant(typed)

    def _meant(self, typed: str) -> Meanings:
        if self.converter is None:
            return Meanings((" ".join(typed.replace(".", " ").split()),))
        found = meanings(typed, self.converter, self.notation, self.counting_unit)
        if not found.words and self._noun_of(typed):
            found = Meanings(("each",))
        if len(found.words) < 2:
            self.known_base(found.words[0] if found.words else typed)
        return found

    def _noun_of(self, typed: str) -> bool:
        key = word_key(typed)
        return key.rpartition(" ")[2] in self.noun_forms

    def _noun_length(self) -> int:
        """Return how many words name the item: 24 large eggs."""
        length = 0
        while self.peek(length).kind == "word" and (
            self.peek(length).key in self.name_forms
        ):
            length += 1
        while length and self.peek(length - 1).key not in self.noun_forms:
            length -= 1
        return length

    def _inches(self) -> Meanings:
        word = next(filter(self.is_own, INCH_WORDS), INCH_WORDS[0])
        self.place += 1
        return Meanings((self.known_base(word),))

    def _take_slash_of_size(self) -> None:
        """Take the slash of `6/#10 can`: six of that size."""
        slash, mark = self.peek(), self.peek(1)
        if slash.kind == mark.kind == "mark" and (slash.text, mark.text) == (
            "/",
            SIZE_MARK,
        ):
            self.place += 1

    def _is_size(self) -> bool:
        """Whether this # is the mark of a can's size: #10 can, but not 6#."""
        mark, size = self.peek(), self.peek(1)
        return size.kind == "number" and mark.touches(size)

    def _sized(self, amount: ReadNumber) -> Meanings:
        """Take `#10 can`: the can of that size, else the can that the item knows."""
        before, mark, size = self.tokens[self.place - 1], self.peek(), self.peek(1)
        self.place += 2
        length = self.unit_length() or 1
        typed = " ".join(self.peek(ahead).text for ahead in range(length))
        named = f"{SIZE_MARK}{size.text} {typed}"
        if self.converter is None:
            self.place += length
            return Meanings((" ".join(named.replace(".", " ").split()),))
        if own := self.converter.own_by_form.get(word_key(named)):
            found = Meanings((own.word,))
        else:
            found = meanings(typed, self.converter, self.notation)
        word = found.words[0] if found.words else ""
        if not word or not self.converter.amount_of(word):
            fault = MeasureFault(FaultKind.CAN_SIZE, f"{SIZE_MARK}{size.text}")
            raise self.error(fault, size.start)
        glued = before.kind == "number" and before.touches(mark)
        if glued and not self.is_own(word):
            self.place -= 1  # 2#10oz: two pounds and ten ounces
            return Meanings((self.known_base(UNIT_BY_MARK[SIZE_MARK]),))
        if glued or not self.is_own(word):
            weight = spelled_term(amount.values[0], UNIT_BY_MARK[SIZE_MARK])
            pounds = f"{weight} + {spelled_term(size.value, word)}"
            sized = f"{format_number(amount.values[0])} {SIZE_MARK}{size.text} {word}"
            readings = (sized, pounds) if self.is_own(word) else (pounds,)
            raise self.which(readings)
        self.place += length
        return found

    def _bare(
        self, amount: ReadNumber, before: Term | None, *, is_joined: bool
    ) -> Meanings:
        """Return the unit of a number that has none, or raise what is to be written."""
        converter = self.converter
        ends = self.peek().kind == "end" or self._is_before_tare()
        may_be_bare = self.notation is Notation.COUNT and not self.is_in_tare
        if converter is None or not may_be_bare or not ends:
            raise self.explained()
        if amount.text.casefold() == NO:
            raise self.explained()
        value = amount.values[0]
        if before is not None:
            return self._bare_after(before, value, converter, is_joined=is_joined)
        if not value:
            return Meanings((converter.base_unit,))
        if self.counting_unit is not None:
            return self._counted_in(self.counting_unit)
        return self._any_of(self.bare_units)

    def _bare_after(
        self,
        last: Term,
        value: Fraction,
        converter: ItemUnits,
        *,
        is_joined: bool,
    ) -> Meanings:
        """Return the unit of the 5 in `1 flat 5`: something smaller than a flat."""
        if 0 < value < 1 and not is_joined:
            raise self._half_of_which(last, value)
        last_base = converter.unit_base(last.unit)
        if self.counting_unit is not None:
            found = self._counted_in(self.counting_unit)
            if converter.unit_base(found.words[0]) < last_base:
                return found
        if converter.measure is Measure.COUNT and last_base > 1:
            return Meanings(("each",))
        smaller = [
            unit for unit in self.bare_units if converter.unit_base(unit) < last_base
        ]
        if not smaller:
            raise self.explained()
        return self._any_of(smaller)

    def _any_of(self, units: Iterable[str]) -> Meanings:
        return Meanings(
            tuple(unmistaken(unit, self.converter) for unit in units),  # type: ignore[arg-type]
            is_doubtful=True,
        )

    def _counted_in(self, unit: str) -> Meanings:
        found = meanings(unit, self.converter, Notation.STORED)  # type: ignore[arg-type]
        word = self.known_base(found.words[0] if found.words else unit)
        return Meanings((unmistaken(word, self.converter),))  # type: ignore[arg-type]

    def _half_of_which(self, last: Term, value: Fraction) -> SeveralReadingsError:
        """Ask about `1 case 1/2`: half a case more, or half of something smaller?"""
        whole = spelled_term(last.number + value, last.unit)
        unit = self.counting_unit or self.bare_units[0]
        beside = f"{spelled_term(last.number, last.unit)} + {spelled_term(value, unit)}"
        readings = (
            (whole,) if word_key(unit) == word_key(last.unit) else (whole, beside)
        )
        return self.which(readings)

    def _is_before_tare(self) -> bool:
        """Whether a stored tare follows: 18.64 - bin."""
        less, name = self.peek(), self.peek(1)
        is_less = (
            less.text in MINUS_MARKS
            if less.kind == "mark"
            else (less.key in LESS_WORDS)
        )
        return bool(
            self.counting_unit
            and is_less
            and name.kind == "word"
            and name.key not in NUMBER_BY_WORD
        )

    def _take_trailing(self) -> None:
        """Take what is said after a unit for good measure: of butter, full, left."""
        while self.peek().kind == "word" and not self.unit_length():
            token, after = self.peek(), self.peek(1)
            is_name = token.key in self.name_forms and token.key not in GRAMMAR_WORDS
            leads_to_name = token.key == OF and after.key in self.name_forms
            is_trailing = token.key in TRAILING_WORDS and token.key != OF
            if not (is_name or leads_to_name or is_trailing):
                return
            self.place += 1

    def _refuse_point_between(self, word: Token, after: Token) -> None:
        """Refuse `1 lb.5 oz`: 5 oz or half an ounce?"""
        if word.text.endswith(".") and after.kind == "number" and word.touches(after):
            raise self.error(MeasureFault(FaultKind.POINT_BETWEEN), word.end - 1)
