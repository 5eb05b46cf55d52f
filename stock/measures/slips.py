"""The slip catcher: asks about an entry while the counter still stands at the shelf.

An entry is compared with what the record says, on the scale of the item's own ordinary
spread: the logarithm of counted over recorded, its middle and its width learned from
past counts. Around that middle counts stray with heavy tails, and now and then they
jump (a delivery that nobody booked). Each other reading of the same keys is weighed
against the entry: how likely is the slip, and how likely is it that just so much is
there. Where a reading is likely enough, it is asked about; so is what is far off
without one, and where a place is probably missed. Amounts are floats in the item's own
base unit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import exp, log
from statistics import median, median_low

from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.reading.echo import spelled_out
from stock.measures.reading.misreadings import (
    DIGITS_SHARE,
    MIXED_UP_UNITS,
    ODD_SAYING,
    PACK_SHARE,
    UNLIKELY_WORD,
    UNLIKELY_ZERO,
    Misreading,
    SlipKind,
    misreadings,
    said_so,
)
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.reading.spoken import Spoken
from stock.wording.slip_words import (
    far_off_words,
    meant_words,
    nearly_empty_words,
    rest_elsewhere_words,
)

__all__ = [
    "OfferedReading",
    "Record",
    "Slip",
    "SlipKind",
    "Spread",
    "question",
    "rules_for_phone",
    "spread_from",
]

# How far counts of an item usually are from its record before any are known, and how
# many counts that guess is worth. Our choice: a tenth, as much as four counts.
PRIOR_WIDTH = 0.10
PRIOR_COUNTS = 4
LEAST_WIDTH = 0.03
# A past count this far off was a slip or a jump: it says nothing of ordinary days.
SLIP_LOG = log(5)
# The middle deviation of a normal spread times this is its standard deviation.
DEVIATIONS_PER_MIDDLE = 1.4826
# Ordinary counts stray like Student's t with so many degrees of freedom, whose density
# in the middle is that of its width; of a hundred counts some jump, by any factor.
DEGREES = 5
T_DENSITY = 0.3796
JUMP_SHARE = 0.06
# A reading this likely beside the entry is asked about. A question costs one tap, a
# slip that is posted an evening: our choice.
LEAST_ODDS = 0.2
# Without a reading: this many widths off asks for the other place; this many, and this
# ratio, is very far off.
UNUSUAL_WIDTHS = 3.5
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
class OfferedReading:
    """One way to read an entry, to be accepted with one tap."""

    text: str  # as it would be typed
    amount_base: Fraction
    shown: str  # the text with the item's noun: 30 eggs for 30 each


@dataclass(frozen=True, slots=True)
class Slip:
    """A question about an entry: is it as entered, or the other reading?"""

    kind: SlipKind
    on_record: str  # the amount in words
    entered: OfferedReading
    instead: OfferedReading | None
    not_counted_yet: tuple[str, ...] = ()  # places where the rest may stand

    @property
    def sentence(self) -> str:
        """The question as it is asked."""
        if self.kind is SlipKind.PLACE:
            return rest_elsewhere_words(self.on_record, self.not_counted_yet)
        if self.kind is SlipKind.NEARLY_EMPTY:
            return nearly_empty_words(self.on_record)
        if self.kind is SlipKind.FAR_OFF or self.instead is None:
            return far_off_words(self.on_record, self.entered.shown)
        return meant_words(self.instead.shown)


def spread_from(pairs: Sequence[tuple[float, float]]) -> Spread:
    """Return an item's spread from past pairs of counted and recorded amounts.

    Robust: half of the past may be wild. Pairs with nothing in them say nothing.
    """
    logs = [
        each
        for counted, expected in pairs
        if counted > 0 and expected > 0
        if abs(each := log(counted / expected)) < SLIP_LOG
    ]
    if not logs:
        return Spread()
    counts = len(logs)
    weight = PRIOR_COUNTS + counts
    middle = median(logs)
    # Of two counts the nearer one: one slip makes no item wild.
    deviation = DEVIATIONS_PER_MIDDLE * median_low(abs(each - middle) for each in logs)
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
    text = spelled_out(spoken.quantity, converter) if spoken.amount_base else "none"
    entered = _reading(text, spoken.amount_base, converter)
    ruler = _Ruler(record, converter)
    ratio = abs(ruler.log_ratio(spoken.quantity, spoken.amount_base))
    if ratio < LEAST_LOG:
        return None
    on_record = amount_words(expected_base, converter)
    best = _likeliest(spoken, ruler)
    entered_density = ruler.density(spoken.quantity, spoken.amount_base)
    entered_density *= said_so(spoken.quantity, converter)
    if best is not None and best.density > LEAST_ODDS * entered_density:
        meant = _instead(best, spoken, converter)
        return Slip(best.misreading.kind, on_record, entered, meant)
    off = ruler.widths_off(spoken.quantity, spoken.amount_base)
    is_less = spoken.amount_base < expected_base
    if record.not_counted_yet and is_less and off > UNUSUAL_WIDTHS:
        places = record.not_counted_yet
        return Slip(SlipKind.PLACE, on_record, entered, None, places)
    if off <= FAR_WIDTHS or ratio < FAR_LOG:
        return None
    instead = None
    if best is not None and best.ratio < ratio:
        instead = _instead(best, spoken, converter)
    if expected_base <= NEARLY_EMPTY_FRACTION * record.usual_base:
        return Slip(SlipKind.NEARLY_EMPTY, on_record, entered, instead)
    return Slip(SlipKind.FAR_OFF, on_record, entered, instead)


def rules_for_phone() -> dict[str, object]:
    """Return the limits of this module by name, for a page that asks by itself."""
    return {
        "pack_share": PACK_SHARE,
        "digits_share": DIGITS_SHARE,
        "unlikely_word": UNLIKELY_WORD,
        "unlikely_zero": UNLIKELY_ZERO,
        "odd_saying": ODD_SAYING,
        "degrees": DEGREES,
        "t_density": T_DENSITY,
        "jump_share": JUMP_SHARE,
        "least_odds": LEAST_ODDS,
        "unusual_widths": UNUSUAL_WIDTHS,
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

    def log_ratio(self, quantity: TypedQuantity, amount_base: Fraction) -> float:
        expected_base = max(self.record.expected_base or 0.0, 0.0)
        units = [self.converter.unit_base(term.unit) for term in quantity.terms]
        grain_base = max(
            GRAIN_OF_UNIT * float(min(units)),
            GRAIN_OF_USUAL * self.record.usual_base,
        )
        return log((float(amount_base) + grain_base) / (expected_base + grain_base))

    def density(self, quantity: TypedQuantity, amount_base: Fraction) -> float:
        """Return how likely an honest count is just there, per unit of logarithm."""
        ratio = self.log_ratio(quantity, amount_base)
        spread = self.record.spread
        widths = (ratio - spread.middle) / spread.width
        tail: float = (1 + widths**2 / DEGREES) ** (-(DEGREES + 1) / 2)
        ordinary = T_DENSITY / spread.width * tail
        return (1 - JUMP_SHARE) * ordinary + JUMP_SHARE * exp(-abs(ratio)) / 2

    def widths_off(self, quantity: TypedQuantity, amount_base: Fraction) -> float:
        ratio = self.log_ratio(quantity, amount_base)
        spread = self.record.spread
        return abs(ratio - spread.middle) / spread.width


@dataclass(frozen=True, slots=True)
class _Likely:
    """A reading, and how likely it is: the slip, and so much being there."""

    misreading: Misreading
    amount_base: Fraction
    density: float
    ratio: float  # how far it is from the record, as a logarithm above 0


def _likeliest(spoken: Spoken, ruler: _Ruler) -> _Likely | None:
    """Return the reading that is the likeliest; of equal ones the first."""
    converter = ruler.converter
    tare_base = converter.to_base(spoken.tare) if spoken.tare else Fraction(0)
    best: _Likely | None = None
    for meant in misreadings(spoken.quantity, converter):
        amount_base = converter.to_base(meant.quantity) - tare_base
        if amount_base < 0 or amount_base == spoken.amount_base:
            continue
        density = meant.share * ruler.density(meant.quantity, amount_base)
        if best is None or density > best.density:
            ratio = abs(ruler.log_ratio(meant.quantity, amount_base))
            best = _Likely(meant, amount_base, density, ratio)
    return best


def _instead(best: _Likely, spoken: Spoken, converter: Converter) -> OfferedReading:
    said = spelled_out(best.misreading.quantity, converter)
    if spoken.tare:
        said = f"{said} less {spelled_out(spoken.tare, converter)}"
    return _reading(said, best.amount_base, converter)


def _reading(text: str, amount_base: Fraction, converter: Converter) -> OfferedReading:
    return OfferedReading(text, amount_base, with_noun(text, converter))
