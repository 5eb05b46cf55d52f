"""Packs, deliveries and decided lines as they stand within a sentence."""

from datetime import date

from django.utils.translation import gettext as _

from planning.engine.decided import ComingLine
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
from planning.sentences.plan_warnings import decided_order_words
from planning.sentences.teller import Teller
from planning.sentences.words import day_words
from stock.measures.units import plural


def counted_packs(pack: PackTerms, packs: int) -> str:
    """Return so many packs in the words that they go by: 2 cases."""
    if not pack.called:
        return f"{packs:,} \N{MULTIPLICATION SIGN} {pack.label}"
    return f"{packs:,} {pack.called if packs == 1 else plural(pack.called)}"


def delivery_words(delivery: PossibleDelivery, to: Teller) -> str:
    """Return whose delivery it is, and on which day: Mill on Thu May 7."""
    return _("{supplier} on {day}").format(
        supplier=to.supplier(delivery.supplier), day=day_words(delivery.deliver_on)
    )


def late_delivery_words(delivery: PossibleDelivery, there_on: date, to: Teller) -> str:
    """Return a delivery with its day, and the day of use where that is the next one.

    How late it is counts up to the day of use.
    """
    words = delivery_words(delivery, to)
    if there_on <= delivery.deliver_on:
        return words
    return _("{delivery}, usable on {day}").format(
        delivery=words, day=day_words(there_on)
    )


def decided_words(coming: ComingLine) -> str:
    """Return which order brings a line that somebody has decided on."""
    return _("{order} brings {packs} of it on {day}.").format(
        order=decided_order_words(
            coming.line.reference, is_approved=coming.line.is_approved
        ),
        packs=counted_packs(coming.pack, coming.line.packs),
        day=day_words(coming.delivery.deliver_on),
    )


def sold_words(pack: PackTerms, *, at_least: bool, by_the: bool) -> str:
    """Return how the supplier sells a pack, where that made an order larger."""
    least, multiple = f"{pack.minimum_packs:,}", f"{pack.multiple:,}"
    if at_least and by_the:
        return _("at least {least} are sold, {multiple} at a time").format(
            least=least, multiple=multiple
        )
    if at_least:
        return _("at least {least} are sold").format(least=least)
    if by_the:
        return _("sold {multiple} at a time").format(multiple=multiple)
    return ""
