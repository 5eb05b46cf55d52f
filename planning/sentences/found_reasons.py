"""Why a line is on a found order, a sentence for each reason.

No verb that has a plural stands behind an item's name: it may be one or many.
"""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.ordering.explain.found_reasons import (
    BreakPriceReason,
    Counted,
    FillersReason,
    FixedReason,
    HoldsReason,
    InsteadReason,
    MorePacks,
    NoWay,
    NoWayReason,
    SharedDeliveryReason,
    SoldAsReason,
    SurplusFor,
    SurplusReason,
    WithoutLine,
    WithoutReason,
)
from planning.sentences.packs import counted_packs, delivery_words, sold_words
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import day_words, moment_words

LEAST_MONEY = 0.005


@sentence.register
def without_words(reason: WithoutReason, to: Teller) -> str:
    """Return what would happen without the line, and to which cakes."""
    node = reason.node
    cakes = to.cakes(reason.cakes)
    return _without_template(reason.what).format(
        without=_("Without more of it") if reason.is_more else _("Without it"),
        item=to.item(node),
        quantity=to.content(node, reason.amount_base),
        day=day_words(reason.on) if reason.on else "",
        for_cakes=_(", for {cakes}").format(cakes=cakes) if cakes else "",
    )


def _without_template(what: WithoutLine) -> str:
    return {
        WithoutLine.OUT: _(
            "{without}: {item} out on {day}, up to {quantity} short{for_cakes}."
        ),
        WithoutLine.STILL_MISSING: _(
            "{without}: up to {quantity} of {item} still short after {day}{for_cakes}."
        ),
        WithoutLine.BELOW_SAFETY: _(
            "{without}: {item} below the safety of {quantity} on {day}{for_cakes}."
        ),
        WithoutLine.BELOW_PAR: _(
            "{without}: {item} below the par of {quantity} on {day}."
        ),
        WithoutLine.NOTHING: _("{without} {item} would not run short."),
    }[what]


@sentence.register
def holds_words(reason: HoldsReason, to: Teller) -> str:
    """Return what the packs hold, and what for."""
    pack, packs = reason.pack, reason.packs
    held = ngettext("{packs} holds {held}", "{packs} hold {held}", packs).format(
        packs=counted_packs(pack, packs),
        held=to.content(pack.node, packs * pack.size_base),
    )
    return f"{_with_need(held, reason, to)}."


@sentence.register
def break_price_words(reason: BreakPriceReason, to: Teller) -> str:
    """Return what each pack costs, and would cost."""
    return _("So many cost {price} each instead of {usual}.").format(
        price=to.price(reason.price), usual=to.price(reason.usual_price)
    )


@sentence.register
def sold_as_words(reason: SoldAsReason, _to: Teller) -> str:
    """Return how many packs more there are for how they are sold."""
    sold = sold_words(
        reason.pack, at_least=reason.for_minimum, by_the=reason.for_multiple
    )
    return _("{packs} more than needed, {sold}.").format(
        packs=f"{reason.more_packs:,}", sold=sold
    )


@sentence.register
def surplus_words(reason: SurplusReason, to: Teller) -> str:
    """Return what packs beyond those that a need asks for are good for."""
    words = _("{packs} not for a shortage, {good_for}.")
    if reason.is_for_shortage:
        words = _("{packs} more than needed, {good_for}.")
    return words.format(packs=f"{reason.packs:,}", good_for=_good_for_words(reason, to))


def _with_need(held: str, reason: HoldsReason, to: Teller) -> str:
    """Return what is held with how much the line must bring, beside what is decided."""
    packs = f"{reason.decided_packs:,}"
    if reason.need_base is None:
        if not reason.decided_packs:
            return held
        return _("{held}, {packs} of them decided on").format(held=held, packs=packs)
    if reason.decided_packs:
        held = _("{held}, {packs} of them decided on and the rest").format(
            held=held, packs=packs
        )
    whole = {
        Counted.NOTHING: _("{held} for a need of {need}"),
        Counted.SAFETY: _("{held} for a need of {need}, safety counted"),
        Counted.PAR: _("{held} for a need of {need}, nine tenths of par counted"),
    }[reason.counted]
    need = to.content(reason.pack.node, reason.need_base)
    return whole.format(held=held, need=need)


def _good_for_words(reason: SurplusReason, to: Teller) -> str:
    surplus = reason.surplus
    return {
        SurplusFor.FIXED: _("as you have fixed it"),
        SurplusFor.COSTS_NOTHING: _("as they cost nothing"),
        SurplusFor.PRICE_BREAK: _("as so few alone would cost {money} more"),
        SurplusFor.MINIMUM: _(
            "to reach the minimum order of {limit}, else {money} short of it"
        ),
        SurplusFor.FREE_DELIVERY: _(
            "to reach free delivery from {limit}, which saves {money}"
        ),
        SurplusFor.LATER_USE: _("for later use: worth {money} after {day}"),
        SurplusFor.NOTHING: _("which the search ended too early to leave out"),
    }[surplus.good_for].format(
        money=to.money(surplus.money),
        limit=to.money(surplus.limit),
        day=day_words(reason.to_on),
    )


@sentence.register
def shared_delivery_words(reason: SharedDeliveryReason, to: Teller) -> str:
    """Return the delivery with its goods, and whom its fee is for."""
    words = _("{delivery}: goods {goods}; order by {order_by}.")
    if reason.fee and reason.is_alone:
        words = _(
            "{delivery}: goods {goods}, fee {fee} for this line alone; order by "
            "{order_by}."
        )
    elif reason.fee:
        words = _(
            "{delivery}: goods {goods}, fee {fee} shared by all lines; order by "
            "{order_by}."
        )
    elif reason.spared_fee:
        words = _(
            "{delivery}: goods {goods}, so without the fee of {fee}; order by "
            "{order_by}."
        )
    return words.format(
        delivery=delivery_words(reason.delivery, to),
        goods=to.money(reason.goods),
        fee=to.money(reason.fee or reason.spared_fee),
        order_by=moment_words(reason.delivery.order_by),
    )


@sentence.register
def fixed_words(_reason: FixedReason, _to: Teller) -> str:
    """Return that a wish is why."""
    return _("You have fixed how much of it comes with this delivery.")


@sentence.register
def no_way_words(reason: NoWayReason, _to: Teller) -> str:
    """Return why there is no other way."""
    return {
        NoWay.TOO_LATE: _("No other delivery that is still in time can bring it."),
        NoWay.UNDER_MINIMUM: _(
            "Any other way leaves a delivery under its minimum order, with all else "
            "bought as it is."
        ),
    }[reason.why]


@sentence.register
def instead_words(reason: InsteadReason, to: Teller) -> str:
    """Return what the next best way would have cost more or less."""
    words = _("Next best: {way}, {cost}{else_same}{late}.")
    if reason.is_of_several:
        words = _(
            "Next best for all of it on this delivery: {way}, {cost}{else_same}{late}."
        )
    return words.format(
        way=_way_words(reason, to),
        cost=_dearer_words(reason, to),
        else_same="" if reason.is_filled else _(", all else the same"),
        late=_("; found too late") if reason.dearer <= -LEAST_MONEY else "",
    )


@sentence.register
def fillers_words(reason: FillersReason, to: Teller) -> str:
    """Return what minimum orders ask for of other lines."""
    first, *others = reason.fillers
    more = len(others)
    words = _("{packs} more of {item} {origin}").format(
        packs=counted_packs(first.pack, first.packs),
        item=to.item(first.pack.node),
        origin=_from(first, to),
    )
    if not others:
        return _("For its minimum order that adds {packs}.").format(packs=words)
    return ngettext(
        "For minimum orders that adds {packs}, and {more} other line.",
        "For minimum orders that adds {packs}, and {more} other lines.",
        more,
    ).format(packs=words, more=f"{more:,}")


def _way_words(reason: InsteadReason, to: Teller) -> str:
    """Return where the item would come from instead."""
    if not reason.grown:
        return _("left out, with less of it in all")
    first, *others = reason.grown
    if reason.is_same:
        return _from(first, to)
    packs = counted_packs(first.pack, first.packs)
    words = _("{packs} more {origin}") if first.is_on_order else _("{packs} {origin}")
    words = words.format(packs=packs, origin=_from(first, to))
    if not others:
        return words
    return ngettext(
        "{packs} and {more} other line", "{packs} and {more} other lines", len(others)
    ).format(packs=words, more=f"{len(others):,}")


def _from(each: MorePacks, to: Teller) -> str:
    return _("from {delivery}").format(delivery=delivery_words(each.delivery, to))


def _dearer_words(reason: InsteadReason, to: Teller) -> str:
    """Return the difference in goods, fees and what is left over."""
    if abs(reason.dearer) < LEAST_MONEY:
        return _("at the same cost")
    words = _("{money} less")
    if reason.dearer > 0:
        words = _("{money} more")
    return words.format(money=to.money(abs(reason.dearer)))
