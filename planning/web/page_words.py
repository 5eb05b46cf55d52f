"""How a page says what a plan holds: days, moments, amounts, batches."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy

from planning.engine.kitchen import NodeKind
from planning.engine.plan import Making, Shortfall
from planning.plan.planner import Planned
from planning.plan.telling import Telling
from planning.sentences.words import capitalized
from planning.wording.batch_words import batches_words, number_words
from planning.wording.short_words import GAPS, brief_remedy_words, gap_words
from planning.wording.shortfall_words import remedy_words, shortfall_words
from stock.templatetags.words import brief_day_words, day_words, moment_words
from stock.web.amounts import NO_BREAK, kept_together
from stock.wording.money_words import MINUS

NOTHING = gettext_lazy("none")


@dataclass(frozen=True, slots=True)
class SaidAmount:
    """An amount in people's words, and the figure in the base unit behind it."""

    words: str
    exact: str

    def __str__(self) -> str:
        return self.words

    @property
    def is_nothing(self) -> bool:
        """Whether there is none of it."""
        return self.words == NOTHING

    @property
    def beneath(self) -> SafeString:
        """The figure, small, to stand under the words; nothing where they say it."""
        if self.words in (NOTHING, self.exact):
            return SafeString("")
        return format_html('<span class="small soft">{}</span>', self.exact)

    @property
    def tap(self) -> SafeString:
        """The words; tapped, they show the figure, where it says more than they do."""
        if self.words in (NOTHING, self.exact):
            return format_html("{}", self.words)
        return format_html(
            '<details class="amount amount-within"><summary>{}</summary>'
            "<span>{}</span></details>",
            self.words,
            self.exact,
        )


@dataclass(frozen=True)
class PageWords:
    """Says what is in a plan, seen from today."""

    planned: Planned
    today: date

    @cached_property
    def telling(self) -> Telling:
        """How days and moments are said here."""
        return telling_from(self.today)

    def day(self, on: date) -> str:
        """Return a day: today, Friday, Fri Dec 12."""
        return self.telling.day(on)

    def brief_day(self, on: date) -> str:
        """Return a day for a narrow column: today, Fri, Fri Dec 12."""
        return _in_one_line(brief_day_words(on, self.today))

    def moment(self, at: datetime) -> str:
        """Return a moment: Tue 2:00 pm."""
        return self.telling.moment(at)

    def amount(self, node: int, amount_base: float) -> SaidAmount:
        """Return an amount of a node; less than nothing as `minus 3 lb`."""
        words = self.planned.words
        exact = kept_together(words.base(node, amount_base).replace("-", MINUS))
        if exact.lstrip(MINUS).startswith(f"0{NO_BREAK}"):
            return SaidAmount(str(NOTHING), exact)
        return SaidAmount(kept_together(words.short(node, amount_base)), exact)

    def gap(self, node: int, amount_base: float) -> SaidAmount:
        """Return an amount that is said without packs: 78 lb, not 2 cases.

        So it stands beside what stands on a shelf or is used; see `SaidAmount`.
        """
        exact = self.amount(node, amount_base).exact
        if self.amount(node, amount_base).is_nothing:
            return SaidAmount(str(NOTHING), exact)
        words = self.planned.words.content(node, amount_base)
        return SaidAmount(kept_together(words), exact)

    def shortfall(self, row: Shortfall) -> SaidAmount:
        """Return what happens to an item as a sentence, with the exact gap."""
        sentence = shortfall_words(self.planned, row, self.telling)
        exact = kept_together(self.planned.words.base(row.node, row.short_base))
        return SaidAmount(as_sentence(sentence), GAPS[row.kind].format(amount=exact))

    def remedy(self, row: Shortfall) -> str:
        """Return what still saves it as a sentence."""
        return as_sentence(remedy_words(self.planned, row, self.telling))

    def gap_of(self, row: Shortfall) -> SaidAmount:
        """Return how much is missing of an item: 3 lb short, with the exact gap."""
        exact = kept_together(self.planned.words.base(row.node, row.short_base))
        return SaidAmount(
            kept_together(gap_words(self.planned, row)),
            GAPS[row.kind].format(amount=exact),
        )

    def brief_remedy(self, row: Shortfall) -> str:
        """Return what still saves it in a few words."""
        return kept_together(brief_remedy_words(self.planned, row, self.telling))

    def making(self, row: Making) -> str:
        """Return how much is made: 1 1/2 batches, in 2 mixes; of a cake, how many."""
        if self.planned.kitchen.nodes.kind[row.node] == NodeKind.CAKE:
            return number_words(row.batches)
        return batches_words(row.batches, row.mixes)


def telling_from(today: date) -> Telling:
    """Return how a page says days and moments, seen from today."""
    return Telling(
        day=lambda on: _in_one_line(day_words(on, today)),
        moment=lambda at: kept_together(moment_words(at, today)),
    )


def _in_one_line(day: str) -> str:
    """Return a date that no line ends in: Fri Dec 12; last Friday may be parted."""
    return day.replace(" ", NO_BREAK) if day[-1:].isdigit() else day


def as_sentence(words: str) -> str:
    """Return words as a sentence: a capital before them, a full stop behind."""
    return kept_together(f"{capitalized(words)}.")


def order_anchor(supplier_id: int, deliver_on: date) -> str:
    """Return the name of the place on the Orders page where a delivery stands.

    >>> order_anchor(7, date(2026, 12, 8))
    'order-7-2026-12-08'
    """
    return f"order-{supplier_id}-{deliver_on}"
