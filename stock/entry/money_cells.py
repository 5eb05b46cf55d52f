"""The kinds of cells that hold prices, sums of money and currencies.

Pure: no Django, no clock. See `stock.entry.cells` for what a kind is.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from stock.entry.cells import CellError, Number, Text, WholeNumber, plain_text
from stock.wording.money_words import MONEY_PLACES, PRICE_PLACES

# Nothing is sold for nothing. Both are well inside 64 bits.
PRICE = Number(
    most=Decimal(10**9), places=PRICE_PLACES, above_least=True, example="92.50"
)
MONEY = Number(most=Decimal(10**12), places=MONEY_PLACES, example="250")


@dataclass(frozen=True, slots=True)
class Currency(Text):
    """A currency by its three letters."""

    def parse(self, value: object) -> str:
        """Return the letters, large."""
        text = Text.parse(self, value).upper()
        if not re.fullmatch(r"[A-Z]{3}", text):
            raise CellError(
                _("{text!r} isn't a currency. Write three letters, like USD.").format(
                    text=text
                )
            )
        return text


@dataclass(frozen=True, slots=True)
class PriceBreaks(Text):
    """From how many packs all of them cost what: `10: 92.50; 20: 90`."""

    def parse(self, value: object) -> str:
        """Return the breaks in one spelling, prices as typed."""
        breaks = parse_price_breaks(plain_text(value))
        return "; ".join(f"{packs}: {price}" for packs, price in breaks)


def parse_price_breaks(text: str) -> tuple[tuple[int, Decimal], ...]:
    """Return from how many packs on each price holds, ascending.

    >>> parse_price_breaks("10: 92.50; 20: 90")
    ((10, Decimal('92.50')), (20, Decimal('90')))
    """
    breaks: list[tuple[int, Decimal]] = []
    for part in text.split(";"):
        if not part.strip():
            continue
        packs_text, colon, price_text = part.partition(":")
        if not colon:
            raise CellError(
                _(
                    "{part!r} isn't a price break. Write packs, a colon and the price, "
                    "like 10: 92.50; 20: 90."
                ).format(part=part.strip())
            )
        packs = WholeNumber(least=2).parse(packs_text)
        if breaks and packs <= breaks[-1][0]:
            raise CellError(
                _(
                    "{packs} comes after {breaks}. Write price breaks from few packs "
                    "to many, each number once."
                ).format(packs=packs, breaks=breaks[-1][0])
            )
        breaks.append((packs, PRICE.parse(price_text)))
    return tuple(breaks)
