"""The grammar of what a person says at the shelf: its words, and how they are read.

See `spoken` for what it is for. The vocabulary is data; the reader goes once from left
to right and brings every term into the workbook's words.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import (
    AmbiguousWordError,
    QuantityError,
    SeveralReadingsError,
    TareError,
)
from stock.measures.conversion import Converter
from stock.measures.quantity import (
    MINUS_MARKS,
    NUMBER,
    WORD,
    Quantity,
    Term,
    parse_quantity,
)
from stock.measures.sayings import System, system_of
from stock.measures.units import UNIT_BY_WORD, Measure, word_key

NONE_WORDS = frozenset(["none", "nothing", "nil", "zero", "empty", "0"])
NUMBER_BY_WORD: Mapping[str, Fraction] = {
    "one": Fraction(1),
    "two": Fraction(2),
    "three": Fraction(3),
    "four": Fraction(4),
    "five": Fraction(5),
    "six": Fraction(6),
    "seven": Fraction(7),
    "eight": Fraction(8),
    "nine": Fraction(9),
    "ten": Fraction(10),
    "eleven": Fraction(11),
    "twelve": Fraction(12),
    "a": Fraction(1),
    "an": Fraction(1),
}
SHARE_BY_WORD: Mapping[str, Fraction] = {
    "half": Fraction(1, 2),
    "quarter": Fraction(1, 4),
}
JOINING_WORDS = frozenset(["and", "plus"])
JOINING_MARKS = frozenset("+,;&")
FILLING_WORDS = frozenset(["full"])
LESS_WORDS = frozenset(["less", "minus"])
TARE_WORD = "tare"
# Words of the grammar, which are never the first letters of a unit.
NO_UNITS = JOINING_WORDS | LESS_WORDS | NUMBER_BY_WORD.keys() | SHARE_BY_WORD.keys()
# The mark for pounds on American scales and invoices: 6#. Common practice, no source.
UNIT_BY_MARK: Mapping[str, str] = {"#": "lb"}
MOST_WORDS_A_UNIT = 3
# What people weigh, pour and count in.
EVERYDAY_UNITS: Mapping[tuple[Measure, System], tuple[str, ...]] = {
    (Measure.MASS, System.CUSTOMARY): ("lb", "oz"),
    (Measure.MASS, System.METRIC): ("kg", "g"),
    (Measure.VOLUME, System.CUSTOMARY): ("quart", "cup"),
    (Measure.VOLUME, System.METRIC): ("L", "mL"),
    (Measure.COUNT, System.CUSTOMARY): ("each",),
    (Measure.COUNT, System.METRIC): ("each",),
}

TOKEN_PATTERN = re.compile(
    rf"\s*(?:(?P<number>{NUMBER})|(?P<word>{WORD})|(?P<mark>\S))", re.VERBOSE
)


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str  # number, word or mark
    text: str
    start: int

    @property
    def key(self) -> str:
        return word_key(self.text)


def whole_word(typed: str, converter: Converter) -> str:
    """Return the item's word or unit that was typed, or that begins so.

    The item's own words and packs, in which people count it, go before the kitchen's
    units: `2c` of butter is two cases, though a cup begins so too.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> butter = compile_converter(
    ...     read_item_measures("butter", "mass", own_units="stick = 4 oz")
    ... )
    >>> whole_word("st", butter)
    'stick'
    """
    key = word_key(typed)
    if known := _known(key, converter):
        return known
    own = {
        own.word: own.holds_base
        for form, own in converter.own_by_form.items()
        if form.startswith(key)
    }
    meant = own or {
        unit.word: converter.base_by_unit[unit.word]
        for form, unit in UNIT_BY_WORD.items()
        if form.startswith(key) and unit.word in converter.base_by_unit
    }
    if len(set(meant.values())) > 1:
        raise AmbiguousWordError(converter.item_name, typed, tuple(sorted(meant)))
    if not meant:
        converter.unit_base(typed)  # says what it knows
    return next(iter(meant))


def _known(key: str, converter: Converter) -> str | None:
    if own := converter.own_by_form.get(key):
        return own.word
    unit = UNIT_BY_WORD.get(key)
    return None if unit is None else unit.word


def bare_units(converter: Converter) -> tuple[str, ...]:
    """Return the units that a bare number of the item may mean, smallest first.

    Its own words, and the units that people weigh, pour or count it in.
    """
    everyday = EVERYDAY_UNITS[converter.measure, system_of(converter)]
    words = {own.word: own.holds_base for own in converter.own_words}
    words |= {unit: converter.base_by_unit[unit] for unit in everyday}
    return tuple(sorted(words, key=lambda word: words[word]))


class Reader:
    """Reads one saying from left to right."""

    def __init__(
        self,
        text: str,
        converter: Converter,
        tares: Mapping[str, Quantity],
        counting_unit: str | None = None,
    ) -> None:
        self.text = text
        self.converter = converter
        self.counting_unit = counting_unit
        self.tare_by_key = {word_key(name): tare for name, tare in tares.items()}
        self.tokens = list(self._tokens())
        self.place = 0

    def said(self) -> tuple[Quantity, Quantity | None]:
        """Return what was said in whole words, and the tare, or raise why not."""
        terms = [self._term()]
        while self.place < len(self.tokens):
            if self._take_less():
                return Quantity(tuple(terms)), self._tare()
            if self._take_joiner() and self.place == len(self.tokens):
                raise self._explained()
            terms.append(self._term())
        return Quantity(tuple(terms)), None

    def _tokens(self) -> Iterator[_Token]:
        for match in TOKEN_PATTERN.finditer(self.text):
            kind = match.lastgroup if match.lastgroup in ("word", "mark") else "number"
            start = match.start(kind)
            if kind == "word":
                yield from self._words(match["word"], start)
            else:
                yield _Token(kind, match[kind], start)

    def _words(self, text: str, start: int) -> Iterator[_Token]:
        """Split `lb-bin` and `bag&tub` where they are no words of the item's."""
        if _known(word_key(text), self.converter) or word_key(text) in self.tare_by_key:
            yield _Token("word", text, start)
            return
        for part in re.finditer(rf"[{MINUS_MARKS}&]|[^{MINUS_MARKS}&]+", text):
            kind = "mark" if part[0] in MINUS_MARKS + "&" else "word"
            yield _Token(kind, part[0], start + part.start())

    def _peek(self, ahead: int = 0) -> _Token:
        if self.place + ahead < len(self.tokens):
            return self.tokens[self.place + ahead]
        return _Token("end", "", len(self.text))

    def _take(self, keys: frozenset[str] | Mapping[str, object], kind: str) -> bool:
        if self._peek().kind == kind and self._peek().key in keys:
            self.place += 1
            return True
        return False

    def _take_joiner(self) -> bool:
        return self._take(JOINING_MARKS, "mark") or self._take(JOINING_WORDS, "word")

    def _take_less(self) -> bool:
        return self._take(frozenset(MINUS_MARKS), "mark") or self._take(
            LESS_WORDS, "word"
        )

    def _term(self) -> Term:
        number = self._number()
        if self._unit_length() == 0:
            self._take(FILLING_WORDS, "word")
        return Term(number, self._unit())

    def _number(self) -> Fraction:
        token = self._peek()
        if token.kind == "number":
            self.place += 1
            return self._figure(token) + self._and_a_share()
        if token.kind == "word" and token.key in NUMBER_BY_WORD:
            self.place += 1
            if token.key in ("a", "an") and (share := self._share()):
                return share
            return NUMBER_BY_WORD[token.key] + self._and_a_share()
        if share := self._share():
            self._take(frozenset(["a", "an"]), "word")
            return share
        raise self._explained()

    def _figure(self, token: _Token) -> Fraction:
        try:
            return parse_quantity(f"{token.text} each").terms[0].number
        except QuantityError as error:
            raise QuantityError(self.text, token.start, error.advice) from error

    def _share(self) -> Fraction:
        """Take `half` or `quarter`, unless that begins a word of the item's."""
        token, after = self._peek(), self._peek(1)
        is_share = token.kind == "word" and token.key in SHARE_BY_WORD
        if not is_share or after.kind != "word" or self._unit_length() > 1:
            return Fraction(0)
        self.place += 1
        return SHARE_BY_WORD[token.key]

    def _and_a_share(self) -> Fraction:
        """Take `and a half`, as in `two and a half bags`."""
        start = self.place
        if self._take(frozenset(["and"]), "word"):
            self._take(frozenset(["a"]), "word")
            if share := self._share():
                return share
        self.place = start
        return Fraction(0)

    def _unit_length(self) -> int:
        """Return how many of the next words are, together, a word of the item's."""
        for length in range(MOST_WORDS_A_UNIT, 0, -1):
            words = [self._peek(ahead) for ahead in range(length)]
            if all(word.kind == "word" for word in words):
                key = word_key(" ".join(word.text for word in words))
                if _known(key, self.converter):
                    return length
        return 0

    def _bare(self) -> str:
        """Return the unit of a number that stands alone, or ask which one it is."""
        number = self.tokens[self.place - 1].text
        if self.counting_unit:
            return whole_word(self.counting_unit, self.converter)
        readings = tuple(f"{number} {unit}" for unit in bare_units(self.converter))
        raise SeveralReadingsError(self.text, readings)

    def _unit(self) -> str:
        token = self._peek()
        if token.kind == "end" and self.place == 1 == len(self.tokens):
            return self._bare()
        if token.kind == "mark" and token.text in UNIT_BY_MARK:
            self.place += 1
            word = UNIT_BY_MARK[token.text]
            self.converter.unit_base(word)
            return word
        length = self._unit_length()
        if not length and (token.kind != "word" or token.key in NO_UNITS):
            raise self._explained()
        length = length or 1
        self._refuse_point_between(self._peek(length - 1), self._peek(length))
        words = [self._peek(ahead).text for ahead in range(length)]
        word = whole_word(" ".join(words), self.converter)
        self.converter.unit_base(word)
        self.place += length
        return word

    def _refuse_point_between(self, word: _Token, after: _Token) -> None:
        """Refuse `1 lb.5 oz`, as the workbook does: 5 oz or half an ounce?"""
        end = word.start + len(word.text)
        if word.text.endswith(".") and after.kind == "number" and after.start == end:
            advice = "the point could end a word or start a number. Put a space there."
            raise QuantityError(self.text, end - 1, advice)

    def _tare(self) -> Quantity:
        token = self._peek()
        if token.kind == "word" and token.key not in NUMBER_BY_WORD:
            tare = self._stored_tare()
        else:
            tare = self._weighed_tare()
        self._take(frozenset([TARE_WORD]), "word")
        if self.place < len(self.tokens):
            raise TareError(self.text, "the tare comes last. Write 18.64 lb - bin.")
        return tare

    def _weighed_tare(self) -> Quantity:
        number, start = self._number(), self.place
        words = [token.text for token in self.tokens[start:] if token.kind == "word"]
        if words and (stored := self._tare_named(words[0])):
            self.place += 1
            return Quantity(
                tuple(Term(number * term.number, term.unit) for term in stored.terms)
            )
        terms = [Term(number, self._unit())]
        while self._peek().kind == "number":
            terms.append(self._term())
        return Quantity(tuple(terms))

    def _stored_tare(self) -> Quantity:
        words: list[str] = []
        while self._peek().kind == "word" and len(words) < MOST_WORDS_A_UNIT:
            words.append(self._peek().text)
            self.place += 1
        if len(words) > 1 and word_key(words[-1]) == TARE_WORD:
            words.pop()
        typed = " ".join(words)
        tare = self._tare_named(typed)
        if tare is None:
            raise TareError(self.text, _no_tare_advice(typed, self.tare_by_key))
        return tare

    def _tare_named(self, typed: str) -> Quantity | None:
        key = word_key(typed)
        if key in self.tare_by_key:
            return self.tare_by_key[key]
        if word_key(typed).endswith("s") and key[:-1] in self.tare_by_key:
            return self.tare_by_key[key[:-1]]
        named = sorted(name for name in self.tare_by_key if name.startswith(key))
        if len(named) > 1:
            raise AmbiguousWordError(self.converter.item_name, typed, tuple(named))
        return self.tare_by_key[named[0]] if named else None

    def _explained(self) -> QuantityError:
        """Return the workbook grammar's own sentence for what cannot be read."""
        token = self._peek()
        before = self.tokens[self.place - 1] if self.place else None
        start = token.start
        if before is not None and before.kind == "number":
            start = before.start
        rest = self.text[start:]
        try:
            parse_quantity(rest)
        except QuantityError as error:
            return QuantityError(self.text, start + error.position, error.advice)
        advice = f'"{rest}" cannot be read. Write a number and a unit, such as 1.5 lb.'
        return QuantityError(self.text, start, advice)


def _no_tare_advice(typed: str, known: Mapping[str, Quantity]) -> str:
    if not known:
        return f'no tare is called "{typed}". Write its weight, such as 2.15 lb.'
    names = ", ".join(sorted(known))
    return f'no tare is called "{typed}". Write its weight, or one of: {names}.'
