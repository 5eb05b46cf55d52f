"""What can be wrong with a quantity or with an item's own measures, as data.

`stock.wording.measure_faults` says each; `stock.errors` carries them.
"""

from dataclasses import dataclass
from enum import StrEnum, auto


class FaultKind(StrEnum):
    """What is wrong with what was typed; behind it stands what a fault is about."""

    # Of a quantity.
    TOO_LONG = auto()  # the most letters
    TOO_LARGE = auto()  # the number
    ZERO_BELOW = auto()  # the fraction
    NO_PROPER_FRACTION = auto()  # the mixed number
    COMMA = auto()  # the number
    NO_UNIT = auto()  # the number
    EMPTY = auto()
    NOTHING_OF_WHAT = auto()  # a `no` of nothing
    NEGATIVE = auto()
    NO_NUMBER = auto()  # the unit
    MINUS = auto()  # where nothing can be taken off
    DASH = auto()  # in a number
    MISSING_PART = auto()  # beside a +
    UNREADABLE = auto()  # the piece
    MISPLACED_MARK = auto()  # the mark
    NOT_EXACT = auto()
    CAN_SIZE = auto()  # the size
    POINT_BETWEEN = auto()  # a word and a number
    # Of a tare.
    NO_TARE = auto()  # nothing behind the minus
    TARE_TOO_HEAVY = auto()
    TARE_NOT_LAST = auto()
    UNKNOWN_TARE = auto()  # its name
    EMPTY_TARE = auto()
    # Of an equivalent.
    NOT_TWO_SIDES = auto()
    SIDE_IS_NOTHING = auto()
    CONTRADICTED = auto()  # the other equivalent
    SEVERAL_UNITS = auto()  # the side
    NOT_A_UNIT = auto()  # the word
    TWO_MEASURES = auto()  # the side
    # Of a word of an item's own.
    NOT_WORD_AND_AMOUNT = auto()
    WORD_TWICE = auto()  # the word
    WORD_TOO_LONG = auto()  # the most letters
    NOT_A_WORD = auto()
    HOLDS_NOTHING = auto()  # the word
    HOLDS_OWN_WORD = auto()  # the other word


@dataclass(frozen=True, slots=True)
class MeasureFault:
    """What is wrong with something that was typed.

    `such_as` is what could be written instead, in the item's own units where there is
    an item: quantities, or the names of its tares. The likeliest come first.
    """

    kind: FaultKind
    what: str = ""  # what it is about, see `FaultKind`
    such_as: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OneMeasureFault:
    """An equivalent with both sides in the item's own measure, or with neither."""

    item_name: str
    kept_by: str  # weight, volume or count
    base_unit: str
    is_both: bool


class Missing(StrEnum):
    """What an item would have to say before a unit could be converted."""

    FLUID_OR_WEIGHT_OF_CUP = auto()  # an ounce of something kept by volume
    WEIGHT_OF_UNIT = auto()
    WEIGHT_OF_ONE = auto()
    WEIGHT_OF_CUP = auto()
    VOLUME_OF_ONE = auto()
    HOW_MANY_FILL_UNIT = auto()


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word means already: a unit, or what another word of the item holds."""

    word: str
    holds: str = ""  # blank for a unit
