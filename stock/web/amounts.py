"""How an amount is said on a page: in people's words, its base figure one tap away."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.measures.amount_words import is_as_said, say_compared
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.wording import negative, say_short
from stock.wording.money_words import MINUS

NONE = "none"
NOT_COUNTED = gettext_lazy("not counted")
ABOUT = "about "
AS_SAID = 1_000  # one part in so many: 10 lb are 4,535.9237 g, and 4,536 g as well
NO_BREAK = "\N{NO-BREAK SPACE}"
# Between a figure and its fraction or its unit, and behind the plus of a second amount.
HOLDS_TOGETHER = re.compile(r"(?<=\d) (?=\d+/\d)|(?<=\d) (?=[^\W\d])|(?<=\+) ")


def kept_together(words: str) -> str:
    """Return words in which no line ends between a figure and what belongs to it.

    >>> kept_together("2 cases + 1 1/2 lb").split(" ")
    ['2\\xa0cases', '+\\xa01\\xa01/2\\xa0lb']
    """
    return HOLDS_TOGETHER.sub(NO_BREAK, words)


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of one item, in its base unit; None if nobody ever said."""

    base: Decimal | None
    converter: Converter
    said: str = ""  # its size in words that add up with others; blank: as usual
    is_rounded: bool = False  # and what stands beside it does not add up with it

    def __str__(self) -> str:
        return self.words

    @property
    def words(self) -> str:
        """What people say: 2 cases + 6 lb, none, not counted."""
        if self.base is None:
            return str(NOT_COUNTED)
        if self.base == 0:
            return NONE
        said = self.said or say_short(abs(self.base), self.converter)
        named = with_noun(said, self.converter)
        return kept_together(named if self.base > 0 else negative(named))

    @property
    def compared_words(self) -> str:
        """The words beside others; with the base figure where they do not add up."""
        return self.words_with_base if self.is_rounded else self.words

    @property
    def size_words(self) -> str:
        """The same without its sign: 6 lb."""
        return replace(self, base=abs(self.base)).words if self.base else self.words

    @property
    def base_words(self) -> str:
        """The exact figure with its unit: 32,658.6506 g, 247 eggs."""
        if self.base is None:
            return ""
        figure = f"{abs(self.base):,f}"
        if "." in figure:
            figure = figure.rstrip("0").rstrip(".")
        sign = MINUS if self.base < 0 else ""
        words = f"{sign}{figure} {self.converter.base_unit}"
        return kept_together(with_noun(words, self.converter))

    @property
    def words_with_base(self) -> str:
        """The words with the base figure behind them: about 10 lb (4,500 g)."""
        words = self.words
        if not self.base or words == self.base_words:
            return words
        about = "" if self.is_as_said else ABOUT
        return f"{about}{words.removeprefix(ABOUT)} ({self.base_words})"

    @property
    def is_as_said(self) -> bool:
        """Whether the words come to the base figure, to one part in a thousand."""
        said = say_short(abs(self.base or Decimal(0)), self.converter)
        size_base = Fraction(abs(self.base or Decimal(0)))
        said_base = self.converter.to_base(said.removeprefix(ABOUT))
        return abs(said_base - size_base) * AS_SAID <= size_base

    @property
    def below_words(self) -> str:
        """A balance below nothing as a sentence."""
        said = say_short(abs(self.base or Decimal(0)), self.converter)
        named = kept_together(with_noun(said, self.converter))
        return _(
            "{named} below zero: more left than came in. Set what is there."
        ).format(named=named)

    @property
    def difference_words(self) -> str:
        """What came or left: +2 cases, minus 6 lb."""
        return self.words if not self.base or self.base < 0 else f"+{self.words}"


def content_words(amount_base: float, converter: Converter) -> str:
    """Return an amount without packs, as plans say it: 78 lb, not 2 cases + 6 lb."""
    if not amount_base:
        return NONE
    said = say_short(Fraction(amount_base), converter, in_packs=False)
    return kept_together(with_noun(said, converter))


def compared(
    counted_base: Decimal, recorded_base: Decimal, converter: Converter
) -> tuple[Amount, Amount, Amount]:
    """Return what was counted, what was on record, and the first less the second.

    They add up as they are said, or the two that were rounded say so.
    """
    said = say_compared(counted_base, recorded_base, converter)
    counted, recorded = (
        Amount(
            base,
            converter,
            is_rounded=not said.adds_up and not is_as_said(base, words, converter),
        )
        for base, words in ((counted_base, said.one), (recorded_base, said.other))
    )
    variance_base = counted_base - recorded_base
    return counted, recorded, Amount(variance_base, converter, said=said.apart)


def tap_for_base(words: str, amount: Amount) -> SafeString:
    """Return words that open to show the base amount behind them."""
    if not amount.base or words == amount.base_words:
        return format_html("{}", words)
    return format_html(
        '<details class="amount"><summary>{}</summary><span>{}</span></details>',
        words,
        amount.base_words,
    )


class AmountColumn(tables.Column):
    """Amounts as people say them; below nothing is said plainly."""

    def render(self, value: Amount) -> SafeString:
        """Return the words, with the base figure one tap away."""
        if value.is_rounded:
            return format_html("{}", value.words_with_base)
        shown = tap_for_base(value.words, value)
        if value.base is not None and value.base < 0:
            below = _("below zero: more left than came in")
            return format_html("{}<strong>{}</strong>", shown, below)
        return shown
