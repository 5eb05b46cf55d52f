"""Why a line is on a found order, a sentence for each reason.

No verb that has a plural stands behind an item's name: it may be one or many.
"""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.ordering.explain.found_reasons import (
    Counted,
    FixedReason,
    HoldsReason,
    InsteadReason,
    MorePacks,
    NoWay,
    NoWayReason,
    SharedDeliveryReason,
    Surplus,
    SurplusFor,
    Without,
    WithoutReason,
)
from planning.sentences.packs import counted_packs, delivery_words, sold_words
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import day_words, listed, moment_words

LEAST_MONEY = 0.005
MOST_NAMED = 3


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
        for_cakes=_("; needed for {cakes}").format(cakes=cakes) if cakes else "",
    )


def _without_template(what: Without) -> str:
    return {
        Without.OUT: _(
            "{without} {item} would run out on {day}, with up to {quantity} missing"
            "{for_cakes}."
        ),
        Without.STILL_MISSING: _(
            "{without} up to {quantity} of {item} would still be missing after {day}"
            "{for_cakes}."
        ),
        Without.BELOW_SAFETY: _(
            "{without} {item} would fall below the safety of {quantity} on {day}"
            "{for_cakes}."
        ),
        Without.BELOW_PAR: _(
            "{without} {item} would not reach the par of {quantity} on {day}."
        ),
        Without.NOTHING: _("{without} {item} would not run short."),
    }[what]


@sentence.register
def holds_words(reason: HoldsReason, to: Teller) -> str:
    """Return what the packs hold, and what was added to what is short."""
    pack, packs = reason.pack, reason.packs
    held = ngettext("{packs} holds {held}", "{packs} hold {held}", packs).format(
        packs=counted_packs(pack, packs),
        held=to.content(pack.node, packs * pack.size_base),
    )
    words = [f"{held}{_need_words(reason, to)}"]
    price = pack.price_at(packs)
    if price != pack.price:
        words.append(
            _("so many cost {price} each instead of {usual}").format(
                price=to.money(price), usual=to.money(pack.price)
            )
        )
    more = reason.sold_packs - reason.needed_packs
    if more > 0:
        is_least = reason.needed_packs < pack.minimum_packs
        by_the = not is_least or bool(pack.minimum_packs % pack.multiple)
        sold = sold_words(pack, at_least=is_least, by_the=by_the)
        words.append(f"{_more_than_needed(more)}, {sold}")
    if reason.surplus is not None:
        more = packs - reason.sold_packs
        what = _more_than_needed(more) if reason.sold_packs else _("not for a shortage")
        words.append(f"{what}, {_surplus_words(reason, reason.surplus, to)}")
    return f"{'; '.join(words)}."


def _more_than_needed(packs: int) -> str:
    return _("{packs} more than needed").format(packs=f"{packs:,}")


def _need_words(reason: HoldsReason, to: Teller) -> str:
    """Return how much the line must bring, and what that holds beside use."""
    need = ""
    if reason.need_base is not None:
        template = {
            Counted.NOTHING: _(" for a need of {need}"),
            Counted.SAFETY: _(" for a need of {need}, safety counted"),
            Counted.PAR: _(" for a need of {need}, nine tenths of par counted"),
        }[reason.counted]
        need = template.format(need=to.content(reason.pack.node, reason.need_base))
    if not reason.decided_packs:
        return need
    decided = _(", {packs} of them decided on").format(
        packs=f"{reason.decided_packs:,}"
    )
    return (
        _("{decided} and the rest{need}").format(decided=decided, need=need)
        if need
        else decided
    )


def _surplus_words(reason: HoldsReason, surplus: Surplus, to: Teller) -> str:
    """Return what packs beyond the fewest that would do are good for."""
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
    delivery = reason.delivery
    words = _(
        "{supplier} comes on {day} with goods for {goods}; order by {order_by}."
    ).format(
        supplier=to.supplier(delivery.supplier),
        day=day_words(delivery.deliver_on),
        goods=to.money(reason.goods),
        order_by=moment_words(delivery.order_by),
    )
    if reason.fee:
        fee = _("All lines share the fee of {fee}.")
        if reason.is_alone:
            fee = _("The fee of {fee} is for this line alone.")
        return f"{words} {fee.format(fee=to.money(reason.fee))}"
    if reason.spared_fee:
        spared = _("So much comes without the fee of {fee}.")
        return f"{words} {spared.format(fee=to.money(reason.spared_fee))}"
    return words


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
    """Return what the next best way would have cost more or less in all."""
    late = reason.dearer <= -LEAST_MONEY
    return _("{way} {cost}, with all else bought as it is{but}{late}.").format(
        way=_way_words(reason, to),
        cost=_dearer_words(reason, to),
        but=_fillers_words(reason, to),
        late=_(", which was found too late") if late else "",
    )


def _way_words(reason: InsteadReason, to: Teller) -> str:
    """Return where the item would come from instead."""
    of_all = _(" of all of it on this delivery") if reason.is_of_several else ""
    if not reason.grown:
        if reason.is_of_several:
            return _(
                "All of it on this delivery left out, with less of it in all, this"
            )
        return _("Left out, with less of it in all, this")
    if reason.is_same:
        [only] = reason.grown
        return _("From {delivery} instead{of_all}, this").format(
            delivery=delivery_words(only.delivery, to), of_all=of_all
        )
    named = [
        _("{packs} from {delivery}").format(
            packs=_more_packs(each), delivery=delivery_words(each.delivery, to)
        )
        for each in reason.grown
    ]
    return _("As {packs} instead{of_all}, this").format(
        packs=listed(named, MOST_NAMED), of_all=of_all
    )


def _more_packs(each: MorePacks) -> str:
    packs = counted_packs(each.pack, each.packs)
    return _("{packs} more").format(packs=packs) if each.is_on_order else packs


def _dearer_words(reason: InsteadReason, to: Teller) -> str:
    """Return the difference in goods, fees and what is left over."""
    if abs(reason.dearer) < LEAST_MONEY:
        return _("would cost as much in all")
    words = _("would cost {money} less in all")
    if reason.dearer > 0:
        words = _("would cost {money} more in all")
    return words.format(money=to.money(abs(reason.dearer)))


def _fillers_words(reason: InsteadReason, to: Teller) -> str:
    """Return what minimum orders ask for of other lines."""
    added = [
        _("{packs} more of {item} for the minimum order of {delivery}").format(
            packs=counted_packs(each.pack, each.packs),
            item=to.item(each.pack.node),
            delivery=delivery_words(each.delivery, to),
        )
        for each in reason.fillers
    ]
    if not added:
        return ""
    return _(" but for {packs}").format(packs=listed(added, MOST_NAMED))
