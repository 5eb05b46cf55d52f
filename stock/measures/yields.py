"""As purchased and edible: what is left of a fruit, a nut or an egg once prepared.

A yield is the edible part of 100 as purchased, in percent, as people type it. The
published yields differ from book to book and are only a start: each bakery replaces
them by what its own knives leave.
"""

import csv
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path

from stock.errors import YieldPercentError
from stock.measures.resolution import Amount

TABLE = Path(__file__).with_name("yields.csv")


@dataclass(frozen=True, slots=True)
class ReferenceYield:
    """A published yield, with its source."""

    food: str
    form: str
    yield_percent: Decimal
    source: str


def yield_fraction(yield_percent: Amount) -> Fraction:
    """Return the yield as a fraction of one; above 0 and at most 100 percent.

    >>> yield_fraction(77)
    Fraction(77, 100)
    """
    fraction = Fraction(yield_percent) / 100
    if not 0 < fraction <= 1:
        raise YieldPercentError(yield_percent)
    return fraction


def as_purchased_base(edible_base: Amount, yield_percent: Amount) -> Fraction:
    """Return how much must be bought to have so much edible."""
    return Fraction(edible_base) / yield_fraction(yield_percent)


def edible_base(as_purchased_base: Amount, yield_percent: Amount) -> Fraction:
    """Return how much is edible of what was bought."""
    return Fraction(as_purchased_base) * yield_fraction(yield_percent)


def measured_yield_percent(
    *, as_purchased_base: Amount, edible_base: Amount
) -> Fraction:
    """Return the yield that the bakery's own test shows, in percent.

    >>> float(measured_yield_percent(as_purchased_base=80, edible_base=Decimal("36.5")))
    45.625
    """
    if as_purchased_base <= 0:
        raise ValueError(f"as_purchased_base must be above 0, not {as_purchased_base}")
    percent = Fraction(edible_base) / Fraction(as_purchased_base) * 100
    return yield_fraction(percent) * 100


@cache
def reference_yields() -> tuple[ReferenceYield, ...]:
    """Return all published yields, in the table's order."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(
            ReferenceYield(
                food=row["food"],
                form=row["form"],
                yield_percent=Decimal(row["yield_percent"]),
                source=row["source"],
            )
            for row in csv.DictReader(file)
        )


def yields_of(text: str) -> list[ReferenceYield]:
    """Return the published yields of foods whose name has the text in it.

    >>> [str(found.yield_percent) for found in yields_of("lemon")]
    ['53', '45.625']
    """
    wanted = text.casefold().strip()
    return [
        found
        for found in reference_yields()
        if wanted and wanted in found.food.casefold()
    ]
