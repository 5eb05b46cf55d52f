"""What can go wrong with the stock, each with a sentence that a baker can act on.

The sentence names the thing and the way out; the figures stay on the error. What is
wrong with a quantity or a measure is data, put into words when it is asked for.
"""

from django.utils.translation import gettext as _

from stock.measure_faults import Meaning, MeasureFault, Missing, OneMeasureFault
from stock.wording.measure_faults import (
    clash_words,
    fault_words,
    length_words,
    no_equivalent_words,
    readings_words,
    too_large_words,
    unknown_unit_words,
)


class StockError(Exception):
    """The base of everything that this app refuses."""


class MeasureError(StockError):
    """A quantity, a unit or an item's own words that cannot be read or converted."""


# A side of an equivalent, or what a word holds, may be no quantity itself.
WhatIsWrong = MeasureFault | OneMeasureFault | MeasureError


class QuantityError(MeasureError):
    """A typed quantity that is none; `position` is where reading stopped, from 0."""

    def __init__(self, text: str, position: int, fault: MeasureFault) -> None:
        super().__init__(text, position, fault)
        self.text = text
        self.position = position
        self.fault = fault

    def __str__(self) -> str:
        return _('"{text}" isn\'t a quantity: {fault}').format(
            text=self.text, fault=fault_words(self.fault)
        )


class LengthError(MeasureError):
    """A length of a pan or a layer that cannot be read."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.text = text

    def __str__(self) -> str:
        return length_words(self.text)


class QuantityTooLargeError(MeasureError):
    """A quantity that no bakery can hold, most likely a slip of the finger."""

    def __init__(self, item_name: str, text: str) -> None:
        super().__init__(item_name, text)
        self.item_name = item_name
        self.text = text

    def __str__(self) -> str:
        return too_large_words(self.item_name, self.text)


class UnknownUnitError(MeasureError):
    """A word that is neither a unit nor one of the item's own words.

    `units` are some that the item can be counted in; `one` is the word's singular.
    """

    def __init__(
        self,
        item_name: str,
        word: str,
        nearest: str | None = None,
        units: tuple[str, ...] = ("g", "lb", "cup"),
        one: str = "",
    ) -> None:
        super().__init__(item_name, word, nearest, units, one)
        self.item_name = item_name
        self.word = word
        self.nearest = nearest
        self.units = units
        self.one = one

    def __str__(self) -> str:
        return unknown_unit_words(
            self.item_name, self.word, self.nearest, self.units, self.one
        )


class NoEquivalentError(MeasureError):
    """A unit that the item cannot turn into its own measure; never a guess."""

    def __init__(
        self, item_name: str, unit: str, kept_by: str, missing: Missing
    ) -> None:
        super().__init__(item_name, unit, kept_by, missing)
        self.item_name = item_name
        self.unit = unit
        self.kept_by = kept_by
        self.missing = missing

    def __str__(self) -> str:
        return no_equivalent_words(
            self.item_name, self.unit, self.kept_by, self.missing
        )


class EquivalentError(MeasureError):
    """An equivalent that cannot be used, such as `1 cup = 2 pint`."""

    def __init__(self, text: str, fault: WhatIsWrong) -> None:
        super().__init__(text, fault)
        self.text = text
        self.fault = fault

    def __str__(self) -> str:
        return _('The equivalent "{text}" cannot be used: {said}').format(
            text=self.text, said=_said(self.fault)
        )


class OwnWordError(MeasureError):
    """A word of an item's own that cannot be read or that holds nothing."""

    def __init__(self, text: str, fault: WhatIsWrong) -> None:
        super().__init__(text, fault)
        self.text = text
        self.fault = fault

    def __str__(self) -> str:
        return _('The word "{text}" cannot be used: {said}').format(
            text=self.text, said=_said(self.fault)
        )


class WordClashError(MeasureError):
    """A word of an item's own that means something else already."""

    def __init__(self, item_name: str, word: str, meaning: Meaning) -> None:
        super().__init__(item_name, word, meaning)
        self.item_name = item_name
        self.word = word
        self.meaning = meaning

    def __str__(self) -> str:
        return clash_words(self.item_name, self.word, self.meaning)


class AmbiguousPackWordError(MeasureError):
    """One word for packs of one item that hold different amounts."""

    def __init__(self, item_name: str, word: str, holds: tuple[str, ...]) -> None:
        super().__init__(
            _(
                '"{word}" of {item_name} could be {holds}. Mark one of these packs '
                "as preferred, or call them different words."
            ).format(word=word, item_name=item_name, holds=" or ".join(holds))
        )
        self.item_name = item_name
        self.word = word
        self.holds = holds


class AmbiguousWordError(MeasureError):
    """The first letters of several words of an item; never a guess."""

    def __init__(self, item_name: str, typed: str, words: tuple[str, ...]) -> None:
        super().__init__(
            _(
                '"{typed}" of {item_name} could be {words}. Write more of the word.'
            ).format(typed=typed, item_name=item_name, words=" or ".join(words))
        )
        self.item_name = item_name
        self.typed = typed
        self.words = words


class GtinError(StockError):
    """A bar code whose digits are not those of one."""

    def __init__(self, text: str, advice: str) -> None:
        super().__init__(
            _('"{text}" isn\'t a valid bar code. {advice}').format(
                text=text, advice=advice
            )
        )
        self.text = text
        self.advice = advice


class SeveralReadingsError(MeasureError):
    """Something typed that can be read in several ways; a person chooses.

    `readings` are texts that can be read in one way only, the most likely
    first; `shown` the same as people are told them, with the item's own word for one
    of it; `is_pack` where one is of a pack as its supplier writes it.
    """

    def __init__(
        self,
        text: str,
        readings: tuple[str, ...],
        *,
        shown: tuple[str, ...] = (),
        is_pack: bool = False,
    ) -> None:
        super().__init__(text, readings)
        self.text = text
        self.readings = readings
        self.shown = shown or readings
        self.is_pack = is_pack

    def __str__(self) -> str:
        return readings_words(self.text, self.shown, is_pack=self.is_pack)


class TareError(MeasureError):
    """A weight on the scale from which the tare cannot be taken off."""

    def __init__(self, text: str, fault: MeasureFault) -> None:
        super().__init__(text, fault)
        self.text = text
        self.fault = fault

    def __str__(self) -> str:
        return _('"{text}" cannot be weighed: {fault}').format(
            text=self.text, fault=fault_words(self.fault)
        )


def _said(fault: WhatIsWrong) -> str:
    return str(fault) if isinstance(fault, MeasureError) else fault_words(fault)
