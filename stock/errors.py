"""What can go wrong with the stock, each with a sentence that a baker can act on.

The sentence names the thing and the way out; the figures stay on the error.
"""


def _listed(words: tuple[str, ...]) -> str:
    """Return words as a choice: oz, lb or case."""
    first, last = ", ".join(words[:-1]), words[-1]
    return f"{first} or {last}" if first else last


class StockError(Exception):
    """The base of everything that this app refuses."""


class MeasureError(StockError):
    """A quantity, a unit or an item's own words that cannot be read or converted."""


class QuantityError(MeasureError):
    """A typed quantity that is none; `position` is where reading stopped, from 0."""

    def __init__(self, text: str, position: int, advice: str) -> None:
        super().__init__(f'"{text}" isn\'t a quantity: {advice}')
        self.text = text
        self.position = position
        self.advice = advice


class LengthError(MeasureError):
    """A length of a pan or a layer that cannot be read."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f'"{text}" isn\'t a valid length. Write a number above 0 and in or cm, '
            "such as 1.5 in."
        )
        self.text = text


class QuantityTooLargeError(MeasureError):
    """A quantity that no bakery can hold, most likely a slip of the finger."""

    def __init__(self, item_name: str, text: str) -> None:
        super().__init__(
            f"{text} of {item_name} is more than a bakery can hold. "
            f"Check the number and its unit."
        )
        self.item_name = item_name
        self.text = text


class UnknownUnitError(MeasureError):
    """A word that is neither a unit nor one of the item's own words."""

    def __init__(
        self,
        item_name: str,
        word: str,
        nearest: str | None = None,
        units: tuple[str, ...] = ("g", "lb", "cup"),
        one: str = "",
    ) -> None:
        hint = f"Did you mean {nearest}? " if nearest else ""
        super().__init__(
            f'"{word}" isn\'t a unit of {item_name}. {hint}'
            f"Write {_listed(units)}, or enter what one {one or word} holds on "
            "its page."
        )
        self.item_name = item_name
        self.word = word
        self.nearest = nearest


class NoEquivalentError(MeasureError):
    """A unit that the item cannot turn into its own measure; never a guess."""

    def __init__(self, item_name: str, unit: str, kept_by: str, remedy: str) -> None:
        super().__init__(
            f"{item_name}: kept by {kept_by}, and nothing says what "
            f"1 {unit} of it comes to. {remedy}"
        )
        self.item_name = item_name
        self.unit = unit


class EquivalentError(MeasureError):
    """An equivalent that cannot be used, such as `1 cup = 2 pint`."""

    def __init__(self, text: str, advice: str) -> None:
        super().__init__(f'The equivalent "{text}" cannot be used: {advice}')
        self.text = text
        self.advice = advice


class OwnWordError(MeasureError):
    """A word of an item's own that cannot be read or that holds nothing."""

    def __init__(self, text: str, advice: str) -> None:
        super().__init__(f'The word of its own "{text}" cannot be used: {advice}')
        self.text = text
        self.advice = advice


class WordClashError(MeasureError):
    """A word of an item's own that means something else already."""

    def __init__(self, item_name: str, word: str, meaning: str) -> None:
        super().__init__(
            f'{item_name} cannot call something "{word}": it already means {meaning}. '
            f"Choose another word."
        )
        self.item_name = item_name
        self.word = word


class AmbiguousPackWordError(MeasureError):
    """One word for packs of one item that hold different amounts."""

    def __init__(self, item_name: str, word: str, holds: tuple[str, ...]) -> None:
        super().__init__(
            f'"{word}" of {item_name} could be {" or ".join(holds)}. '
            f"Mark one of these packs as preferred, or call them different words."
        )
        self.item_name = item_name
        self.word = word
        self.holds = holds


class YieldPercentError(MeasureError):
    """A yield that is not above 0 and at most 100 percent."""

    def __init__(self, percent: object) -> None:
        super().__init__(
            f"A yield of {percent} % is not possible. Write how much of 100 as "
            f"purchased can be used: above 0 and at most 100."
        )
        self.percent = percent


class AmbiguousWordError(MeasureError):
    """The first letters of several words of an item; never a guess."""

    def __init__(self, item_name: str, typed: str, words: tuple[str, ...]) -> None:
        super().__init__(
            f'"{typed}" of {item_name} could be {" or ".join(words)}. '
            f"Write more of the word."
        )
        self.item_name = item_name
        self.typed = typed
        self.words = words


class GtinError(StockError):
    """A bar code whose digits are not those of one."""

    def __init__(self, text: str, advice: str) -> None:
        super().__init__(f'"{text}" isn\'t a valid bar code. {advice}')
        self.text = text
        self.advice = advice


class SeveralReadingsError(MeasureError):
    """Something typed that can be read in several ways; a person chooses.

    `readings` are texts that can be read in one way only, the most likely first.
    """

    def __init__(self, text: str, readings: tuple[str, ...]) -> None:
        if len(readings) == 1:
            sentence = f'"{text}" is not clear. Did you mean {readings[0]}?'
        else:
            sentence = f'"{text}" could be {_listed(readings)}. Write one of them.'
        super().__init__(sentence)
        self.text = text
        self.readings = readings


class TareError(MeasureError):
    """A weight on the scale from which the tare cannot be taken off."""

    def __init__(self, text: str, advice: str) -> None:
        super().__init__(f'"{text}" cannot be weighed: {advice}')
        self.text = text
        self.advice = advice
