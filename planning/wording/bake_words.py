"""What was made, in a sentence: pages, commands and refusals say the same."""

from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.models import Bake
from planning.sentences.words import capitalized, count_words
from planning.wording.batch_words import batches_words
from stock.calendar.calendar_words import clock_words, date_words
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.models import Bakery
from stock.wording.names import person_name

SOMEBODY = gettext_lazy("Somebody")


def batches_of(batches: Decimal | float, name: str) -> str:
    """Return so many batches of a recipe.

    >>> batches_of(Decimal("1.5"), "lemon curd")
    '1 1/2 batches of lemon curd'
    """
    return _("{batches} of {name}").format(
        batches=batches_words(float(batches)), name=name
    )


def bake_words(bake: Bake) -> str:
    """Return what a bake was: 2 batches of lemon curd; honey cake (#2122).

    The recipe's item and the planned cake are read.
    """
    name = bake.recipe.item.name
    if bake.planned_cake is not None:
        return f"{name} ({bake.planned_cake.reference})"
    if bake.recipe.is_cake:
        return f"{int(bake.batches)} x {name}"
    return batches_of(bake.batches, name)


def below_words(name: str, below_base: Decimal, converter: Converter) -> str:
    """Return that the record of an item is below zero, and what to do.

    Hazelnuts: the record is 5 oz below zero. Count them.
    """
    said = amount_words(below_base, converter)
    return capitalized(
        _("{name}: the record is {said} below zero. {count}").format(
            name=capitalized(name), said=said, count=count_words(name)
        )
    )


def who_and_when(bake: Bake, bakery: Bakery) -> tuple[str, str]:
    """Return who recorded a bake, and when on the bakery's clock. `by` is read."""
    return person_name(bake.by, unknown=str(SOMEBODY)), _when(bake.at, bakery)


def undone_words(bake: Bake, bakery: Bakery) -> str:
    """Return that a bake was undone, and when on the bakery's clock.

    As for `bake_words`; `undone_at` is set.
    """
    said = capitalized(bake_words(bake))
    return _("{said}: made, then undone {when}.").format(
        said=said, when=_when(bake.undone_at or bake.at, bakery)
    )


def _when(at: datetime, bakery: Bakery) -> str:
    local = at.astimezone(bakery.zone)
    return f"{date_words(local)}, {clock_words(local.time())}"
