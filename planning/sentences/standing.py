"""How an item stands over the whole plan, in words whose figures add up as said."""

from fractions import Fraction

from django.utils.translation import gettext as _

from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.usual_rule.line_reasons import StandingReason
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import capitalized, day_words

# A figure that takes up the rounding of those beside it may be off by so much of
# itself: as much as an amount is rounded before it is said to be about so much.
MOST_ROUNDED_FRACTION = 0.02


@sentence.register
def standing_words(reason: StandingReason, to: Teller) -> str:
    """Return how an item stands over the whole plan, without suggested orders.

    What is used is said so that the figures, as they are said, come to what is short
    as it is said elsewhere, or to the reason's need. Where no words do that, they are
    said to be rounded.
    """
    node, standing = reason.node, reason.standing
    used = _used_words(reason, to)
    gone = _("{quantity} used").format(
        quantity=used or to.content(node, standing.used_base)
    )
    if standing.expired_base >= LEAST_LACK_BASE:
        gone = _("{used} and {quantity} expired").format(
            used=gone, quantity=to.content(node, standing.expired_base)
        )
    words = _("{on_hand} on hand, {on_order} on order, {gone} by {day}").format(
        on_hand=_counted(reason, standing.on_hand_base, to),
        on_order=_counted(reason, standing.on_order_base, to),
        gone=gone,
        day=day_words(reason.to_on),
    )
    rounded = "" if used else _(" (rounded)")
    return f"{capitalized(words)}{_level_words(node, to)}{rounded}."


def _counted(reason: StandingReason, amount_base: float, to: Teller) -> str:
    if abs(amount_base) < LEAST_LACK_BASE:
        return _("nothing")
    return to.amounts.short(reason.node, amount_base)


def _level_words(node: int, to: Teller) -> str:
    """Return an item's safety and par, as far as it has them."""
    nodes = to.kitchen.nodes
    levels = (
        (_("safety {quantity}"), nodes.safety_base),
        (_("par {quantity}"), nodes.par_base),
    )
    words = [
        level.format(quantity=to.content(node, float(column[node])))
        for level, column in levels
        if column[node]
    ]
    return f"; {', '.join(words)}" if words else ""


def _used_words(reason: StandingReason, to: Teller) -> str:
    """Return what is used, so that the figures add up as said; blank if none do."""
    node, standing = reason.node, reason.standing
    sums = to.sums(node)
    used = to.content(node, standing.used_base)
    comes_to_base = _comes_to_base(reason, to)
    if standing.used_base < LEAST_LACK_BASE or comes_to_base is None:
        return used
    there = (standing.on_hand_base, standing.on_order_base)
    rest_base = (
        comes_to_base
        + sum(sums.counted(each) for each in there)
        - sums.content(standing.expired_base)
    )
    if rest_base == sums.content(standing.used_base):
        return used
    off_base = abs(float(rest_base) - standing.used_base)
    if off_base > standing.used_base * MOST_ROUNDED_FRACTION:
        return ""
    return sums.just(rest_base)


def _comes_to_base(reason: StandingReason, to: Teller) -> Fraction | None:
    """Return what goes less what is there, as it is said; None if nothing is short."""
    sums, standing = to.sums(reason.node), reason.standing
    if reason.need_base is not None:
        return sums.content(reason.need_base) - sums.content(reason.level_base)
    there_base = standing.on_hand_base + standing.on_order_base
    short_base = standing.used_base + standing.expired_base - there_base
    return None if short_base < LEAST_LACK_BASE else sums.content(short_base)
