"""The slip catcher: asks about an entry while the counter still stands at the shelf.

An entry is compared with what the record says, on the scale of the item's own ordinary
spread: the logarithm of counted over recorded, its middle and its width learned from
past counts. An ordinary entry is never asked about. One that is far off is asked about
where another reading of the same keys would be ordinary (cases for each, a swapped
digit), where a place is probably missed, or where it is very far off. Amounts are
floats in the item's own base unit.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from math import log
from statistics import median

from stock.measures.conversion import Converter
from stock.measures.meanings import unmistaken
from stock.measures.quantity import Quantity, Term, finite_decimal
from stock.measures.spoken import Spoken, spelled_out, spoken_words
from stock.measures.units import UNIT_BY_WORD, word_key

# How far counts of an item usually are from its record before any are known, and how
# many counts that guess is worth. Our choice: a tenth, as much as four counts.
PRIOR_WIDTH = 0.10
PRIOR_COUNTS = 4
LEAST_WIDTH = 0.03
# The middle deviation of a normal spread times this is its standard deviation.
DEVIATIONS_PER_MIDDLE = 1.4826
# An entry this many widths off is not ordinary; another reading within fewer is.
UNUSUAL_WIDTHS = 3.5
ORDINARY_WIDTHS = 2.5
# Without another reading: only what is very far off, in widths and as a ratio.
FAR_WIDTHS = 10.0
FAR_LOG = log(3)
# Below this ratio nobody minds, however regular the item is.
LEAST_LOG = log(1.25)
# Nobody counts finer than a quarter of what is counted in, or than a twentieth of
# what usually stands there.
GRAIN_OF_UNIT = 0.25
GRAIN_OF_USUAL = 0.05
# Of what usually stands there: less on record is nearly empty.
NEARLY_EMPTY_FRACTION = 0.10
# The units that hands mix up with one another, beside an item's own words.
MIXED_UP_UNITS = (
    ("oz", "lb"),
    ("g", "kg"),
    ("mL", "L"),
    ("fl oz", "cup", "pint", "quart", "gallon"),
    ("each", "dozen"),
)


class SlipKind(StrEnum):
    """What may have happened."""

    PACK = "pack"  # the right number of the wrong word
    DIGITS = "digits"  # two digits swapped, or the point misplaced
    PLACE = "place"  # the rest stands in a place that is not counted yet
    NEARLY_EMPTY = "nearly empty"  # more than the record leaves room for
    FAR_OFF = "far off"


@dataclass(frozen=True, slots=True)
class Spread:
    """How far counts of an item ordinarily are from its record, as logarithms."""

    middle: float = 0.0
    width: float = PRIOR_WIDTH
    counts: int = 0


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of a line before it is counted."""

    expected_base: float | None  # on record; None: nobody ever said
    usual_base: float = 0.0  # what stands there on an ordinary day
    spread: Spread = Spread()
    not_counted_yet: tuple[str, ...] = ()  # other places of the item


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read an entry, to be accepted with one tap."""

    text: str  # as it would be typed
    words: str  # as it is said
    amount_base: Fraction


@dataclass(frozen=True, slots=True)
class Slip:
    """A question about an entry: is it as entered, or the other reading?"""

    kind: SlipKind
    sentence: str
    entered: Reading
    instead: Reading | None


def spread_from(pairs: Sequence[tuple[float, float]]) -> Spread:
    """Return an item's spread from past pairs of counted and recorded amounts.

    Robust: half of the past may be wild. Pairs with nothing in them say nothing.
    """
    logs = [
        log(counted / expected)
        for counted, expected in pairs
        if counted > 0 and expected > 0
    ]
    if not logs:
        return Spread()
    counts = len(logs)
    weight = PRIOR_COUNTS + counts
    middle = median(logs)
    deviation = DEVIATIONS_PER_MIDDLE * median(abs(each - middle) for each in logs)
    variance = (PRIOR_COUNTS * PRIOR_WIDTH**2 + counts * deviation**2) / weight
    return Spread(
        middle=middle * counts / weight,
        width=max(variance**0.5, LEAST_WIDTH),
        counts=counts,
    )


def question(spoken: Spoken, record: Record, converter: Converter) -> Slip | None:
    """Return what to ask about an entry; None for an ordinary one."""
    if record.expected_base is None:
        return None
    expected_base = max(record.expected_base, 0.0)
    entered = Reading(
        spelled_out(spoken.quantity) if spoken.amount_base else "none",
        spoken.words,
        spoken.amount_base,
    )
    ruler = _Ruler(record, converter)
    log_ratio = ruler.log_ratio(spoken.quantity, spoken.amount_base)
    off = ruler.widths_off(spoken.quantity, spoken.amount_base)
    if off <= UNUSUAL_WIDTHS or abs(log_ratio) < LEAST_LOG:
        return None
    other = _other_reading(spoken, ruler)
    if other is not None:
        return replace(other, entered=entered)
    on_record = spoken_words(Fraction(expected_base), converter)
    if record.not_counted_yet and spoken.amount_base < expected_base:
        places = " and ".join(record.not_counted_yet)
        sentence = (
            f"That is less than the {on_record} on record. Is the rest in {places}, "
            f"which is not counted yet?"
        )
        return Slip(SlipKind.PLACE, sentence, entered, None)
    if off <= FAR_WIDTHS or abs(log_ratio) < FAR_LOG:
        return None
    if expected_base <= NEARLY_EMPTY_FRACTION * record.usual_base:
        sentence = f"It was due to be nearly empty: {on_record} on record. Look again?"
        return Slip(SlipKind.NEARLY_EMPTY, sentence, entered, None)
    sentence = f"The record says {on_record}. Is it {entered.words}?"
    return Slip(SlipKind.FAR_OFF, sentence, entered, None)


def rules_for_phone() -> dict[str, object]:
    """Return the limits of this module by name, for a page that asks by itself."""
    return {
        "unusual_widths": UNUSUAL_WIDTHS,
        "ordinary_widths": ORDINARY_WIDTHS,
        "far_widths": FAR_WIDTHS,
        "far_log": FAR_LOG,
        "least_log": LEAST_LOG,
        "grain_of_unit": GRAIN_OF_UNIT,
        "grain_of_usual": GRAIN_OF_USUAL,
        "nearly_empty_fraction": NEARLY_EMPTY_FRACTION,
        "mixed_up_units": [list(units) for units in MIXED_UP_UNITS],
    }


@dataclass(frozen=True, slots=True)
class _Ruler:
    """Says how far amounts are from the record, in logarithms and in widths."""

    record: Record
    converter: Converter

    def log_ratio(self, quantity: Quantity, amount_base: Fraction) -> float:
        expected_base = max(self.record.expected_base or 0.0, 0.0)
        units = [self.converter.unit_base(term.unit) for term in quantity.terms]
        grain_base = max(
            GRAIN_OF_UNIT * float(min(units)),
            GRAIN_OF_USUAL * self.record.usual_base,
        )
        return log((float(amount_base) + grain_base) / (expected_base + grain_base))

    def widths_off(self, quantity: Quantity, amount_base: Fraction) -> float:
        ratio = self.log_ratio(quantity, amount_base)
        spread = self.record.spread
        return abs(ratio - spread.middle) / spread.width


def _other_reading(spoken: Spoken, ruler: _Ruler) -> Slip | None:
    """Return the reading that would be the most ordinary one, if any would be."""
    converter = ruler.converter
    tare_base = converter.to_base(spoken.tare) if spoken.tare else Fraction(0)
    best: Slip | None = None
    least_off = ORDINARY_WIDTHS
    for kind, quantity in _readings(spoken.quantity, converter):
        amount_base = converter.to_base(quantity) - tare_base
        if amount_base < 0:
            continue
        off = ruler.widths_off(quantity, amount_base)
        if off < least_off:
            least_off = off
            said = spelled_out(quantity)
            if spoken.tare:
                said = f"{said} less {spelled_out(spoken.tare)}"
            instead = Reading(said, spoken_words(amount_base, converter), amount_base)
            best = Slip(kind, f"Did you mean {said}?", instead, instead)
    return best


def _readings(
    quantity: Quantity, converter: Converter
) -> Iterator[tuple[SlipKind, Quantity]]:
    for place, term in enumerate(quantity.terms):
        for word in _mixed_up_with(term.unit, converter):
            other = Term(term.number, word)
            yield SlipKind.PACK, _with_term(quantity, place, other)
        for number in _misread_numbers(term.number):
            yield SlipKind.DIGITS, _with_term(quantity, place, Term(number, term.unit))


def _mixed_up_with(typed: str, converter: Converter) -> list[str]:
    """Return the words that may have been meant: own ones, and units like the typed.

    For an own word that is any unit in which the item's words are given.
    """
    meant = _word_itself(typed, converter)
    own = [each.word for each in converter.own_words]
    given_in = {
        unit.word
        for each in converter.own_words
        for term in each.holds.terms
        if (unit := UNIT_BY_WORD.get(word_key(term.unit)))
    }
    known = {meant} if meant not in own else {converter.base_unit} | given_in
    units = [
        unit
        for alike in MIXED_UP_UNITS
        if known.intersection(alike)
        for unit in alike
        if unit in converter.base_by_unit
    ]
    return [unmistaken(word, converter) for word in own + units if word != meant]


def _word_itself(typed: str, converter: Converter) -> str:
    """Return the word for an unmistakable one: L for liter, box for box pack."""
    key = word_key(typed)
    own = converter.own_by_form.get(key)
    return own.word if own else UNIT_BY_WORD[key].word


def _with_term(quantity: Quantity, place: int, term: Term) -> Quantity:
    return Quantity((*quantity.terms[:place], term, *quantity.terms[place + 1 :]))


def _misread_numbers(number: Fraction) -> Iterator[Fraction]:
    """Yield a number with two neighbouring digits swapped, or its point moved."""
    digits = finite_decimal(number)
    if digits is None or not number:
        return
    for place in range(len(digits) - 1):
        swapped = digits[place + 1] + digits[place]
        if "." not in swapped and swapped[0] != swapped[1]:
            yield Fraction(digits[:place] + swapped + digits[place + 2 :])
    if len(digits.replace(".", "")) > 1:
        yield number / 10
    if "." in digits:
        yield number * 10
