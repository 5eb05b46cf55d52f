"""Why a line is on an order of the usual rule, a sentence for each reason."""

from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.plan import ShortfallKind
from planning.engine.usual_rule.line_reasons import (
    LEAST_OVER_FRACTION,
    DecidedReason,
    DeliveryReason,
    KeepsReason,
    LateDeliveryReason,
    Liking,
    MovedReason,
    NeedFor,
    NeedReason,
    NextBestReason,
    NoOtherPackReason,
    PacksReason,
    PaddingReason,
    PassedOverReason,
)
from planning.sentences.packs import (
    counted_packs,
    decided_words,
    delivery_words,
    late_delivery_words,
    sold_words,
)
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import day_words, days_late_words, moment_words


@sentence.register
def need_words(reason: NeedReason, to: Teller) -> str:
    """Return what would be short, for which cakes, and what is needed against it."""
    node = reason.node
    cakes = to.cakes(reason.cakes)
    return _need_template(reason).format(
        item=to.heading(node),
        day=day_words(reason.on),
        for_cakes=_(", for {cakes}").format(cakes=cakes) if cakes else "",
        need=to.content(node, reason.need_base),
        to_day=day_words(reason.to_on),
        counted=_(", safety counted") if to.safety(node) else "",
    )


def _need_template(reason: NeedReason) -> str:
    """Return the sentence of a need, with names for its figures."""
    if reason.kind is ShortfallKind.BELOW_PAR:
        return _("{item}: {need} to reach par on {to_day}.")
    needed = {
        NeedFor.CAKES: _("{need} needed by {to_day}{counted}"),
        NeedFor.PAR: _("{need} to reach par on {to_day}"),
        NeedFor.SPARING: _("{need} of that spared by what is used first"),
    }[reason.needed_for]
    what = _("{item}: out on {day}{for_cakes}")
    if reason.kind is ShortfallKind.BELOW_SAFETY:
        what = _("{item}: below safety on {day}{for_cakes}")
    return f"{what}; {needed}."


@sentence.register
def decided_reason_words(reason: DecidedReason, _to: Teller) -> str:
    """Return which order brings what somebody has decided on."""
    return decided_words(reason.coming)


@sentence.register
def packs_words(reason: PacksReason, to: Teller) -> str:
    """Return what the packs cost and hold, and what is left of that."""
    pack, packs = reason.pack, reason.packs
    liking = {
        Liking.PREFERRED: _("the preferred pack"),
        Liking.ONLY_ONE: _("the only pack sold"),
        Liking.NEXT_BEST: _("the next best pack"),
        Liking.CHEAPEST: _("the cheapest per unit"),
    }
    words = ngettext(
        "{packs} at {price}, {liking}, is {held}: {over}",
        "{packs} at {price}, {liking}, are {held}: {over}",
        packs,
    ).format(
        packs=counted_packs(pack, packs),
        price=_price_words(reason, to),
        liking=liking[reason.liking],
        held=to.content(pack.node, packs * pack.size_base),
        over=_over_words(reason, to),
    )
    sold = sold_words(pack, at_least=reason.for_minimum, by_the=reason.for_multiple)
    return f"{words}, {sold}." if sold else f"{words}."


def _price_words(reason: PacksReason, to: Teller) -> str:
    pack, packs = reason.pack, reason.packs
    price = pack.price_at(packs)
    words = to.price(price)
    if packs > 1:
        words = _("{price} each").format(price=words)
    if price == pack.price:
        return words
    begins = max(step.from_packs for step in pack.breaks if packs >= step.from_packs)
    return _("{price} (from {packs} on, else {usual})").format(
        price=words, packs=f"{begins:,}", usual=to.price(pack.price)
    )


def _over_words(reason: PacksReason, to: Teller) -> str:
    """Return how much more is bought than needed, by the two as they are said."""
    if reason.is_sparing:
        return _("used first, which spares older stock")
    bought_base, node = reason.bought_base, reason.pack.node
    over_base = bought_base - sum(reason.needs_base)
    if over_base < bought_base * LEAST_OVER_FRACTION:
        return _("just what is needed")
    sums = to.sums(node)
    bought = sums.content(bought_base)
    rest = bought - sum(map(sums.content, reason.needs_base))
    if rest < bought * Fraction(LEAST_OVER_FRACTION):
        return _("just what is needed")
    over = sums.just(rest) or to.content(node, over_base)
    return _("{quantity} more than needed").format(quantity=over)


@sentence.register
def keeps_words(reason: KeepsReason, to: Teller) -> str:
    """Return until when the goods keep, and how much of them will expire."""
    words = _("What comes on {day} keeps until {use_by}").format(
        day=day_words(reason.came_on), use_by=day_words(reason.use_by)
    )
    if reason.expires_base is None:
        return f"{words}."
    return _("{keeps}: {quantity} of it will expire.").format(
        keeps=words, quantity=to.content(reason.node, reason.expires_base)
    )


@sentence.register
def delivery_reason_words(reason: DeliveryReason, to: Teller) -> str:
    """Return with which delivery it comes, and until when to order."""
    words = _("{supplier} comes on {day}; order by {order_by}.")
    if reason.is_last_in_time:
        words = _(
            "{supplier} on {day} is the last delivery in time; order by {order_by}."
        )
    delivery = reason.delivery
    return words.format(
        supplier=to.supplier(delivery.supplier),
        day=day_words(delivery.deliver_on),
        order_by=moment_words(delivery.order_by),
    )


@sentence.register
def late_delivery_reason_words(reason: LateDeliveryReason, to: Teller) -> str:
    """Return which delivery helps first, and how late it is."""
    return _("First that helps: {delivery}, {late}; order by {order_by}.").format(
        delivery=late_delivery_words(reason.delivery, reason.there_on, to),
        late=days_late_words(reason.late_days),
        order_by=moment_words(reason.delivery.order_by),
    )


@sentence.register
def passed_over_words(reason: PassedOverReason, to: Teller) -> str:
    """Return which pack would have been taken."""
    return _(
        "{pack} from {supplier} would come first, but no delivery of it is in time."
    ).format(pack=reason.pack.label, supplier=to.supplier(reason.pack.supplier))


@sentence.register
def no_other_pack_words(_reason: NoOtherPackReason, _to: Teller) -> str:
    """Return that there is no other pack."""
    return _("No other pack of it is in time.")


@sentence.register
def next_best_words(reason: NextBestReason, to: Teller) -> str:
    """Return what another pack would have cost, and why it was not taken."""
    offer = _("{packs} from {delivery}").format(
        packs=counted_packs(reason.pack, reason.packs),
        delivery=delivery_words(reason.delivery, to),
    )
    if reason.cost >= reason.own_cost:
        words = _("Next best: {offer}, {cost} instead of {own_cost}.")
    elif reason.is_own_preferred:
        words = _(
            "Cheaper: {offer}, {cost} instead of {own_cost}; the usual rule takes the "
            "preferred pack."
        )
    else:
        words = _(
            "Cheaper: {offer}, {cost} instead of {own_cost}; the usual rule goes by "
            "price per unit."
        )
    cost, own_cost = to.money(reason.cost), to.money(reason.own_cost)
    return words.format(offer=offer, cost=cost, own_cost=own_cost)


@sentence.register
def moved_words(reason: MovedReason, to: Teller) -> str:
    """Return from which delivery the line was moved up, and what for."""
    words = _(
        "Moved up from {day}, when {supplier} would not reach its minimum order of "
        "{minimum}."
    )
    if reason.is_for_this_one:
        words = _(
            "Moved up from {day}, so that this delivery of {supplier} reaches its "
            "minimum order of {minimum}."
        )
    return words.format(
        day=day_words(reason.from_on),
        supplier=to.supplier(reason.supplier),
        minimum=to.minimum(reason.supplier),
    )


@sentence.register
def padding_words(reason: PaddingReason, to: Teller) -> str:
    """Return how many packs are there for the minimum order alone."""
    return ngettext(
        "{padded} of the {packs} is there only to reach the minimum order of "
        "{minimum}: the goods were {lacked} short of it.",
        "{padded} of the {packs} are there only to reach the minimum order of "
        "{minimum}: the goods were {lacked} short of it.",
        reason.padded_packs,
    ).format(
        padded=f"{reason.padded_packs:,}",
        packs=f"{reason.packs:,}",
        minimum=to.minimum(reason.supplier),
        lacked=to.money(reason.lacked),
    )
