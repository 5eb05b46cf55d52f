"""Reads how many: the numbers of the quantity grammar, in digits and in words.

amount  = ["about"] ( figure | number word | share )
figure  = decimal | whole | fraction | whole fraction | whole "x" figure
words   = two, twenty-five, a, no, a couple of, two and a half
share   = half of a, three quarters of a, 3/4 of the

Bare numbers in words, for fields that hold no unit: six packs, twenty-five.
"""

from decimal import Decimal
from fractions import Fraction

from stock.errors import MeasureError
from stock.measure_faults import FaultKind
from stock.measures.reading.advice import (
    COMMA_PATTERN,
    comma_fault,
    without_comma,
)
from stock.measures.reading.pieces import PieceReader, ReadNumber
from stock.measures.reading.tokens import LARGEST_NUMBER, LONGEST_TEXT, Token
from stock.measures.reading.vocabulary import (
    ABOUT_MARKS,
    ABOUT_WORDS,
    AND,
    ARTICLES,
    BEFORE_UNIT,
    COUPLE,
    HUNDRED,
    JOINING_WORDS,
    LESS_WORDS,
    MINUS_MARKS,
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


class AmountReader(PieceReader):
    """Reads the numbers among the pieces."""

    def is_amount(self, token: Token) -> bool:
        """Whether an amount begins here."""
        keys = NUMBER_BY_WORD.keys() | SHARE_BY_WORD.keys() | ABOUT_WORDS
        if token.kind == "word":
            return token.key in keys
        return token.kind == "number" or token.text in ABOUT_MARKS

    def amount(self) -> ReadNumber:
        """Take a number, or raise what is wrong here."""
        self.last = self._amount()
        return self.last

    def _amount(self) -> ReadNumber:
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
            return ReadNumber((share,), token.text)
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
            fault = self.advice.fault(FaultKind.NOT_EXACT)
            raise self.error(fault, self.peek().start)
        if self.notation is Notation.COUNT:
            self.take_word(ABOUT_WORDS) or self.take_mark(ABOUT_MARKS)

    def _after_figure(self, token: Token) -> ReadNumber:
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
        return ReadNumber(values, self._text_from(token), ratio, is_doubtful)

    def _after_number_word(self, token: Token) -> ReadNumber:
        number = Fraction(NUMBER_BY_WORD[token.key])
        if token.key in ARTICLES:
            if share := self._share():
                self._take_before_unit()
                return ReadNumber((share,), self._text_from(token))
            if self.take_word(frozenset([COUPLE])):
                number = Fraction(2)
                self.take_word(frozenset([OF]))
        elif token.key == COUPLE:
            self.take_word(frozenset([OF]))
        elif number >= 20:
            number += self._ones()
        number = self._in_hundreds(number, is_hundred=token.key == HUNDRED)
        values = self._shares_of(number) or (number + self._and_a_share(),)
        if values[0] < 1:
            self._take_before_unit()
        return ReadNumber(values, self._text_from(token), is_doubtful=len(values) > 1)

    def _ones(self) -> int:
        """Take the five of twenty five."""
        ones = self._number_word()
        if 1 <= ones < 10:
            self.place += 1
            return ones
        return 0

    def _number_word(self) -> int:
        """Return the number that stands here as a word; 0 where none does."""
        token = self.peek()
        is_other = token.key in ARTICLES or token.key == COUPLE
        return (
            0 if token.kind != "word" or is_other else NUMBER_BY_WORD.get(token.key, 0)
        )

    def _in_hundreds(self, number: Fraction, *, is_hundred: bool) -> Fraction:
        """Take the hundred and fifty of two hundred and fifty."""
        if not is_hundred:
            if self.is_own(HUNDRED) or not self.take_word(frozenset([HUNDRED])):
                return number
            number *= 100
        start = self.place
        self.take_word(frozenset([AND]))
        rest = self._number_word()
        if 1 <= rest < 100:
            self.place += 1
            rest += self._ones() if rest >= 20 else 0
            if self.peek().key not in SHARE_BY_WORD:
                return number + rest
        self.place = start
        return number

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

    def _with_comma(self, token: Token) -> ReadNumber | None:
        """Take 1,000 or 2,5: what a comma means is not the same everywhere."""
        comma = COMMA_PATTERN.match(self.text, token.start)
        if comma is None:
            return None
        while self.peek().kind != "end" and self.peek().start < comma.end():
            self.place += 1
        is_whole = self.tokens[self.place - 1].end == comma.end()
        if self.notation is not Notation.COUNT or not is_whole:
            raise self.error(comma_fault(comma[0]), token.start)
        values = tuple(Fraction(number) for number in without_comma(comma[0]))
        if values[0] > LARGEST_NUMBER:
            raise self.error(comma_fault(comma[0]), token.start)
        return ReadNumber(values, comma[0], is_doubtful=True)

    def _text_from(self, token: Token) -> str:
        last = self.tokens[self.place - 1]
        return self.text[token.start : last.end]


def number_in_words(text: str) -> Decimal | None:
    """Return the number that words say and nothing else; None for anything else.

    By the quantity grammar. `no` and a bare `a` are as likely an answer or a slip.

    >>> number_in_words("twenty-five")
    Decimal('25')
    """
    has_digits = any(letter.isdigit() for letter in text)
    if not text or has_digits or len(text) > LONGEST_TEXT:
        return None
    if text.casefold() in ARTICLES:
        return None
    reader = AmountReader(text, None, Notation.STOCK)
    try:
        amount = reader.amount()
    except MeasureError:
        return None
    number, *others = amount.values
    is_all = reader.peek().kind == "end" and not others and not amount.is_doubtful
    if not is_all or not number:
        return None
    return Decimal(number.numerator) / Decimal(number.denominator)
