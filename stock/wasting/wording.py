"""What is said of a waste, by pages and commands alike."""

from decimal import Decimal

from django.utils.translation import gettext as _

from stock.ledger.held import is_on_hold
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.nouns import noun
from stock.models import Waste

DOZEN = "dozen"


def amount_of_item(amount_base: Decimal, converter: Converter) -> str:
    """Return an amount with what it is of: 2 lb of butter, 3 eggs, 1 dozen eggs.

    A noun that is not the whole name does not say which: 3 boards (10 in board).
    """
    words, name = amount_words(amount_base, converter), converter.item_name
    named = noun(converter)
    if named and words.endswith(DOZEN):
        words = f"{words} {named[1]}"
    if not (named and words.endswith(named)):
        return _("{words} of {name}").format(words=words, name=name)
    return words if name.casefold() in named else f"{words} ({name})"


def waste_words(waste: Waste, converter: Converter) -> str:
    """Return what was wasted, why and from where. The place is read.

    2 lb of butter wasted, spoiled, from walk-in.
    """
    what = amount_of_item(waste.amount_base, converter)
    reason = waste.get_reason_display().lower()
    return _("{what} wasted, {reason}, from {name}").format(
        what=what, reason=reason, name=waste.place.name
    )


def held_words(lot_id: int | None) -> str:
    """Return that the lot that was taken by name is on hold, if it is. One query."""
    return _(" This lot is on hold.") if is_on_hold(lot_id) else ""


def left_words(left_base: Decimal, converter: Converter) -> str:
    """Return what is left in the place: 18 lb left there; below zero is said."""
    if left_base < 0:
        below = amount_words(-left_base, converter)
        return _("the record there is {below} below zero until it is counted").format(
            below=below
        )
    return _("{amount} left there").format(amount=amount_words(left_base, converter))
