"""The one grammar of quantities, typed or spoken, read from left to right.

    said     = part { [joiner] part } [less tare]       2c 6lb, 2 cases and 6 lb
    part     = amount ["full"] unit ["of"] [item] ["and a half"]
    amount   = see `amounts`
    unit     = a unit, a word of the item's, `#`, "#10 can"; see `meanings`
    tare     = a stored tare's name | part { part } ["tare"]      bin, 2.15 lb tare

What can be read in several ways is returned in all of them. First letters, "about" and
numbers without a unit are read at the shelf only, where an echo answers at once.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice, product

from stock.errors import (
    AmbiguousWordError,
    SeveralReadingsError,
    TareError,
)
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.reading.meanings import Meanings
from stock.measures.reading.pieces import ReadNumber
from stock.measures.reading.terms import (
    KITCHEN_DENOMINATORS,
    Term,
    TypedQuantity,
    spelled_term,
)
from stock.measures.reading.unit_reader import UnitReader
from stock.measures.reading.vocabulary import (
    FILLING_WORDS,
    JOINING_MARKS,
    JOINING_WORDS,
    LESS_WORDS,
    MINUS_MARKS,
    MOST_READINGS,
    MOST_WORDS_A_UNIT,
    NUMBER_BY_WORD,
    PACK_SIZE_UNITS,
    TARE_WORD,
    Notation,
)
from stock.measures.units import word_key


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a text; the label is a text that is read in this way only."""

    quantity: TypedQuantity
    tare: TypedQuantity | None
    label: str


@dataclass(frozen=True, slots=True)
class _Part:
    """A number of a unit, in every way it can be read, the likelier first."""

    terms: tuple[Term, ...]
    labels: tuple[str, ...]
    is_doubtful: bool = False  # even one way has to be asked about
    is_whole: bool = True


class Reader(UnitReader):
    """Reads one text, of one item or of none yet."""

    def readings(self) -> tuple[list[Reading], bool]:
        """Return every way to read the text, and whether even one is to be asked.

        What comes to the same quantity is one way, however it is labeled.
        """
        parts: list[_Part] = [self._part(None)]
        tare: list[_Part] = []
        adds_too = False
        while self.peek().kind != "end":
            less = self.peek()
            if self._take_less():
                tare, is_tare = self._tare()
                adds_too = (
                    less.kind == "mark" and not is_tare and self._may_add(parts, tare)
                )
                break
            joiner = self.peek()
            is_joined = self._take_joiner()
            if is_joined and self.peek().kind == "end":
                raise self.error(
                    self.advice.between_parts(FaultKind.MISSING_PART), joiner.start
                )
            parts.append(self._part(parts[-1], is_joined=is_joined))
        is_doubtful = any(part.is_doubtful for part in (*parts, *tare))
        found = list(islice(_combined(parts, tare), MOST_READINGS))
        if adds_too:
            added = list(islice(_combined([*parts, *tare], []), MOST_READINGS))
            found = added + found if parts[-1].is_whole else found + added
        first = {(each.quantity, each.tare): each for each in reversed(found)}
        return [each for each in found if each in first.values()], is_doubtful

    def several(self, readings: Iterable[Reading]) -> SeveralReadingsError:
        """Return the question which of several readings is meant."""
        labels = tuple(reading.label for reading in readings)
        is_pack = self.notation is Notation.PACK and any(" x " in x for x in labels)
        return self.which(labels, is_pack=is_pack)

    def _part(self, before: _Part | None, *, is_joined: bool = False) -> _Part:
        amount = self._one_of_unit() or self.amount()
        self._take_slash_of_size()
        if not self.unit_length():
            self.take_word(FILLING_WORDS)
        start = self.place
        found = self._unit(
            amount, before.terms[0] if before else None, is_joined=is_joined
        )
        is_bare, ratio = self.place == start, amount.ratio
        if is_bare and found.is_doubtful:
            amount = replace(amount, ratio=None)  # one question at a time
        self._take_trailing()
        if share := self.share_after_unit():
            values = tuple(value + share for value in amount.values)
            amount = ReadNumber(values, amount.text)
            self._take_trailing()
        part = self._with_values(amount, found)
        return self._or_packs(part, ratio, found) if is_bare and ratio else part

    def _one_of_unit(self) -> ReadNumber | None:
        """Take the one that is not said: a full bag, or case and a half."""
        token, start = self.peek(), self.place
        if token.kind != "word" or self.is_amount(token):
            return None
        if self.take_word(FILLING_WORDS):
            if self.unit_length():
                return ReadNumber((Fraction(1),), "1")
        elif length := self.unit_length():
            self.place += length
            has_share = bool(self.share_after_unit())
            self.place = start
            if has_share:
                return ReadNumber((Fraction(1),), "1")
        self.place = start
        return None

    def _or_packs(self, part: _Part, ratio: tuple[int, int], found: Meanings) -> _Part:
        """Return a bare 6/5 with its packs: 1.2 tubs, or six of a size, 6 x 5 lb.

        Alone where a size is what is counted: that is asked about as any 6/5 lb.
        """
        top, bottom = ratio
        is_counted_size = not found.is_doubtful and self._is_size_unit(found.words[0])
        if top <= 1 or is_counted_size:
            return part
        sizes = filter(self._is_size_unit, self.bare_units)
        units = self._any_of(sizes).words
        terms = tuple(Term(Fraction(top * bottom), unit) for unit in units)
        labels = tuple(f"{top} x {bottom} {unit}" for unit in units)
        if _is_kitchens(top, bottom):
            terms, labels = part.terms + terms, part.labels + labels
        else:
            terms, labels = terms + part.terms, labels + part.labels
        return replace(part, terms=terms, labels=labels)

    def _is_size_unit(self, unit: str) -> bool:
        return unit in PACK_SIZE_UNITS and not self.is_own(unit)

    def _with_values(self, amount: ReadNumber, found: Meanings) -> _Part:
        terms, labels = [], []
        is_doubtful = amount.is_doubtful or found.is_doubtful
        for unit in found.words:
            values, asks = self._values(amount, unit)
            is_doubtful = is_doubtful or asks
            for value, label in values:
                terms.append(Term(value, unit))
                labels.append(label or spelled_term(value, unit))
        is_whole = amount.values[0].denominator == 1
        return _Part(tuple(terms), tuple(labels), is_doubtful, is_whole)

    def _values(
        self, amount: ReadNumber, unit: str
    ) -> tuple[list[tuple[Fraction, str]], bool]:
        """Return what a number of a unit may be: 12/32 oz is a fraction, or 12 of 32.

        With it whether even one way is to be asked about.
        """
        plain = [(value, "") for value in amount.values]
        if amount.ratio is None:
            return plain, False
        top, bottom = amount.ratio
        is_size = self._is_size_unit(unit)
        pack = (Fraction(top * bottom), f"{top} x {bottom} {unit}")
        if self.notation is Notation.RECIPE and top >= bottom:
            return plain + [pack] * (is_size and top > bottom > 1), True
        if self.notation is Notation.PACK:
            is_size = True
            plain = [
                (amount.values[0], spelled_term(amount.values[0], unit, is_size=True))
            ]
        is_kitchens = _is_kitchens(top, bottom)
        may_be_pack = self.notation in (Notation.PACK, Notation.COUNT) or (
            self.notation is Notation.ITEM and not is_kitchens
        )
        if not may_be_pack or 1 in (top, bottom) or not is_size:
            return plain, False
        return ([*plain, pack] if is_kitchens else [pack, *plain]), False

    def _take_joiner(self) -> bool:
        return self.take_mark(JOINING_MARKS) or self.take_word(JOINING_WORDS)

    def _take_less(self) -> bool:
        return self.take_mark(frozenset(MINUS_MARKS)) or self.take_word(LESS_WORDS)

    def _tare(self) -> tuple[list[_Part], bool]:
        """Return the parts of a tare, and whether it is certainly one."""
        if self.notation is not Notation.COUNT:
            self.place -= 1
            raise self.explained()
        token = self.peek()
        is_named = token.kind == "word" and token.key not in NUMBER_BY_WORD
        parts, is_tare = self._stored_tare() if is_named else self._weighed_tare()
        is_tare = self.take_word(frozenset([TARE_WORD])) or is_tare
        if self.peek().kind != "end":
            raise TareError(self.text, MeasureFault(FaultKind.TARE_NOT_LAST))
        return parts, is_tare

    def _weighed_tare(self) -> tuple[list[_Part], bool]:
        start, amount = self.place, self.amount()
        token, self.is_in_tare = self.peek(), True
        if token.kind == "word" and (stored := self._tare_named(token.text)):
            self.place += 1
            number = amount.values[0]
            terms = (Term(number * term.number, term.unit) for term in stored.terms)
            return [_fixed(term) for term in terms], True
        self.place = start
        parts = [self._part(None)]
        while self.peek().kind == "number":
            parts.append(self._part(parts[-1]))
        return parts, False

    def _stored_tare(self) -> tuple[list[_Part], bool]:
        words: list[str] = []
        while self.peek().kind == "word" and len(words) < MOST_WORDS_A_UNIT:
            words.append(self.peek().text)
            self.place += 1
        if len(words) > 1 and word_key(words[-1]) == TARE_WORD:
            words.pop()
        typed = " ".join(words)
        tare = self._tare_named(typed)
        if tare is None:
            known = tuple(sorted(self.tare_by_key))
            raise TareError(
                self.text, MeasureFault(FaultKind.UNKNOWN_TARE, typed, known)
            )
        return [_fixed(term) for term in tare.terms], True

    def _tare_named(self, typed: str) -> TypedQuantity | None:
        key = word_key(typed)
        if key in self.tare_by_key:
            return self.tare_by_key[key]
        if key.endswith("s") and key[:-1] in self.tare_by_key:
            return self.tare_by_key[key[:-1]]
        named = sorted(name for name in self.tare_by_key if name.startswith(key))
        if len(named) > 1:
            name = "" if self.converter is None else self.converter.item_name
            raise AmbiguousWordError(name, typed, tuple(named))
        return self.tare_by_key[named[0]] if named else None

    def _may_add(self, parts: list[_Part], tare: list[_Part]) -> bool:
        """Whether the dash in `2 lb - 3 oz` may only stand between the two."""
        if self.converter is None:
            return False
        last, first = parts[-1].terms[0].unit, tare[0].terms[0].unit
        return self.converter.unit_base(first) < self.converter.unit_base(last)


def _is_kitchens(top: int, bottom: int) -> bool:
    """Whether a fraction is one that spoons, cups and scales are marked with."""
    return top < bottom and bottom in KITCHEN_DENOMINATORS


def _combined(parts: list[_Part], tare: list[_Part]) -> Iterator[Reading]:
    every = [
        list(zip(part.terms, part.labels, strict=True)) for part in (*parts, *tare)
    ]
    for chosen in product(*every):
        gross, off = chosen[: len(parts)], chosen[len(parts) :]
        label = " + ".join(label for _, label in gross)
        if off:
            label = f"{label} less {' + '.join(label for _, label in off)}"
        yield Reading(
            TypedQuantity(tuple(term for term, _ in gross)),
            TypedQuantity(tuple(term for term, _ in off)) if off else None,
            label,
        )


def _fixed(term: Term) -> _Part:
    return _Part((term,), (spelled_term(term.number, term.unit),))
