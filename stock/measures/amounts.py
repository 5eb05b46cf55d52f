"""Reads how many: the numbers of the quantity grammar, in digits and in words.

amount  = ["about"] ( figure | number word | share )
figure  = decimal | whole | fraction | whole fraction | whole "x" figure
words   = two, twenty-five, a, no, a couple of, two and a half
share   = half of a, three quarters of a, 3/4 of the
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from stock.errors import QuantityError
from stock.measures.advice import (
    COMMA_PATTERN,
    Advice,
    comma_advice,
    without_comma,
)
from stock.measures.meanings import is_exact
from stock.measures.nouns import name_forms, noun_forms
from stock.measures.systems import bare_units
from stock.measures.terms import Quantity
from stock.measures.tokens import LARGEST_NUMBER, Token, tidy, tokens_of
from stock.measures.units import UNIT_BY_WORD, word_key
from stock.measures.vocabulary import (
    ABOUT_MARKS,
    ABOUT_WORDS,
    AND,
    ARTICLES,
    BEFORE_UNIT,
    COUPLE,
    GRAMMAR_WORDS,
    JOINING_WORDS,
    LESS_WORDS,
    MINUS_MARKS,
    MOST_WORDS_A_UNIT,
    NO,
    NUMBER_BY_WORD,
    OF,
    SHARE_BY_WORD,
    TARE_WORD,
    TIMES_MARKS,
    TIMES_WORD,
    TRAILING_WORDS,
    UNIT_BY_MARK,
    Notation,
)

if TYPE_CHECKING:
    from stock.measures.conversion import Converter


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as it was read: its values, the likelier first.

    `ratio` is what stands above and below a plain slash: of some units that may be so
    many of that size.
    """

    values: tuple[Fraction, ...]
    text: str
    ratio: tuple[int, int] | None = None
    is_doubtful: bool = False


class AmountReader:
    """Goes through the pieces of one text, and reads the amounts among them."""

    def __init__(
        self,
        text: str,
        converter: "Converter | None",
        notation: Notation,
        tares: Mapping[str, Quantity] | None = None,
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
        self.last = Amount((Fraction(0),), "")  # the number that was read last

    # What the item knows

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

    # Pieces

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

    # Amounts

    def is_amount(self, token: Token) -> bool:
        """Whether an amount begins here."""
        keys = NUMBER_BY_WORD.keys() | SHARE_BY_WORD.keys() | ABOUT_WORDS
        if token.kind == "word":
            return token.key in keys
        return token.kind == "number" or token.text in ABOUT_MARKS

    def amount(self) -> Amount:
        """Take a number, or raise what is wrong here."""
        self.last = self._amount()
        return self.last

    def _amount(self) -> Amount:
        self._take_about()
        token = self.peek()
        if token.figure is not None:
            if with_comma := self._with_comma(token):
                return with_comma
            self.place += 1
            return self._after_figure(token)
        if token.kind == "word" and token.key in NUMBER_BY_WORD:
            self.place += 1
            return self._after_number_word(token)
        if share := self._share():
            self._take_before_unit()
            return Amount((share,), token.text)
        raise self.explained()

    def share_after_unit(self) -> Fraction:
        """Take `and a half` where nothing follows that it could be half of."""
        start = self.place
        share = self._and_a_share()
        token, after = self.peek(), self.peek(1)
        is_of_item = token.key == OF and after.key in self.name_forms
        ends = token.kind in ("end", "mark") and token.text not in {*UNIT_BY_MARK, '"'}
        closing = JOINING_WORDS | LESS_WORDS | TRAILING_WORDS - {OF} | {TARE_WORD}
        names = token.kind == "word" and token.key in self.name_forms
        if share and (ends or token.key in closing or is_of_item or names):
            return share
        self.place = start
        return Fraction(0)

    def _take_about(self) -> None:
        if self.notation is not Notation.COUNT and self.peek().key in ABOUT_WORDS:
            exactly = self.advice.example
            advice = f"it has to be exact. Write one number, such as {exactly}."
            raise self.error(advice, self.peek().start)
        if self.notation is Notation.COUNT:
            self.take_word(ABOUT_WORDS) or self.take_mark(ABOUT_MARKS)

    def _after_figure(self, token: Token) -> Amount:
        figure = token.figure
        assert figure is not None  # noqa: S101 (taken as a number)
        values, ratio, is_doubtful = figure.values, figure.ratio, len(figure.values) > 1
        if figure.is_whole:
            number = values[0]
            if self._is_dash_in_number(token):
                self.place += 2
                values = (number + self.tokens[self.place - 1].value,)
            elif number and self._take_times():
                size = self.peek()
                values = (number * size.value,)
                is_doubtful = "/" in size.text and not size.text.startswith("1/")
                self.place += 1
            else:
                values = self._shares_of(number) or (number + self._and_a_share(),)
                is_doubtful = len(values) > 1
        if values[0] < 1 and self._take_before_unit():
            ratio = None
        return Amount(values, self._text_from(token), ratio, is_doubtful)

    def _after_number_word(self, token: Token) -> Amount:
        number = Fraction(NUMBER_BY_WORD[token.key])
        if token.key in ARTICLES:
            if share := self._share():
                self._take_before_unit()
                return Amount((share,), self._text_from(token))
            if self.take_word(frozenset([COUPLE])):
                number = Fraction(2)
                self.take_word(frozenset([OF]))
        elif token.key == COUPLE:
            self.take_word(frozenset([OF]))
        elif number >= 20:
            number += self._ones()
        values = self._shares_of(number) or (number + self._and_a_share(),)
        if values[0] < 1:
            self._take_before_unit()
        return Amount(values, self._text_from(token), is_doubtful=len(values) > 1)

    def _ones(self) -> int:
        """Take the five of twenty five."""
        ones = NUMBER_BY_WORD.get(self.peek().key, 0)
        is_ones = self.peek().kind == "word" and self.peek().key not in ARTICLES
        if is_ones and self.peek().key != COUPLE and 1 <= ones < 10:
            self.place += 1
            return ones
        return 0

    def _share(self) -> Fraction:
        """Take `half` or `quarter`, unless that is, or begins, a word of the item's."""
        token, after = self.peek(), self.peek(1)
        if token.kind != "word" or token.key not in SHARE_BY_WORD:
            return Fraction(0)
        if self.converter is not None and (length := self.unit_length()):
            self.place += 1
            is_of_unit = after.key in BEFORE_UNIT or bool(self.unit_length())
            self.place -= 1
            if length > 1 or not is_of_unit:
                return Fraction(0)
        self.place += 1
        return SHARE_BY_WORD[token.key]

    def _shares_of(self, number: Fraction) -> tuple[Fraction, ...]:
        """Take the share in `three quarters`; `2 half` is 2 1/2, or twice a half."""
        token = self.peek()
        is_one_share = not token.key.endswith("s")
        if self.converter is None and number > 1 and is_one_share:
            return ()  # three of what is called a half sheet
        share = self._share()
        if not share:
            return ()
        times = number * share
        if is_one_share and times >= 1:
            return number + share, times
        return (times,)

    def _and_a_share(self) -> Fraction:
        """Take `and a half`, `and 2/3` or `and three quarters`."""
        start = self.place
        if self.take_word(frozenset([AND])):
            figure = self.peek().figure
            if figure is not None and figure.is_fraction:
                self.place += 1
                return figure.values[0]
            number = 1
            if self.peek().kind == "word" and self.peek().key in NUMBER_BY_WORD:
                number = NUMBER_BY_WORD[self.peek().key]
                self.place += 1
            share = self._share() * number
            if 0 < share < 1:
                return share
        self.place = start
        return Fraction(0)

    def _take_before_unit(self) -> bool:
        """Take `of a` after a share, or the `a` of half a bag."""
        has_of = self.take_word(frozenset([OF]))
        return self.take_word(BEFORE_UNIT - {OF}) or has_of

    def _is_dash_in_number(self, token: Token) -> bool:
        dash, after = self.peek(), self.peek(1)
        return (
            dash.kind == "mark"
            and dash.text in MINUS_MARKS
            and after.figure is not None
            and after.figure.is_fraction
            and token.touches(dash)
            and dash.touches(after)
        )

    def _take_times(self) -> bool:
        sign, size = self.peek(), self.peek(1)
        is_sign = (
            sign.key == TIMES_WORD
            if sign.kind == "word"
            else (sign.text in TIMES_MARKS)
        )
        is_size = size.kind == "number" and not self.is_own(sign.text)
        if is_sign and is_size:
            self.place += 1
            return True
        return False

    def _with_comma(self, token: Token) -> Amount | None:
        """Take 1,000 or 2,5: what a comma means is not the same everywhere."""
        comma = COMMA_PATTERN.match(self.text, token.start)
        if comma is None:
            return None
        while self.peek().kind != "end" and self.peek().start < comma.end():
            self.place += 1
        is_whole = self.tokens[self.place - 1].end == comma.end()
        if self.notation is not Notation.COUNT or not is_whole:
            raise self.error(comma_advice(comma[0]), token.start)
        values = tuple(Fraction(number) for number in without_comma(comma[0]))
        if values[0] > LARGEST_NUMBER:
            raise self.error(comma_advice(comma[0]), token.start)
        return Amount(values, comma[0], is_doubtful=True)

    def _text_from(self, token: Token) -> str:
        last = self.tokens[self.place - 1]
        return self.text[token.start : last.end]

    # What is wrong

    def error(self, advice: str, position: int) -> QuantityError:
        """Return the error for a place in the text."""
        return QuantityError(self.text, position, advice)

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
            advice = self.advice.no_minus() if self.place else self.advice.negative()
            return self.error(advice, token.start)
        if unit := self._unit_here():
            return self.error(self.advice.no_number(unit), token.start)
        if token.text in {",", ";", "&"}:
            return self.error(self.advice.between(token.text), token.start)
        what = token.text if token.kind != "word" else self.text[token.start :]
        return self.error(self.advice.unreadable(what), token.start)

    def _no_unit(self, *, is_dash: bool) -> str:
        if is_dash:
            return "it has a dash. Write one number, such as 2.5 or 1 3/4."
        if self.last.text.casefold() == NO:
            return self.advice.none()
        return self.advice.no_unit(self.last.text, self.last.values[0])

    def _nothing_after(self, before: Token | None) -> str:
        if before is None or before.key in ABOUT_WORDS | ABOUT_MARKS:
            return self.advice.empty()
        is_less = before.key in LESS_WORDS or before.text in MINUS_MARKS
        return self.advice.no_tare() if is_less else self.advice.missing()

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
