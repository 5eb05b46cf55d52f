"""What needs a look about some orders, a sentence for each warning.

An item's name may be one or many (flour, egg whites), so no verb stands behind it.
"""

from django.utils.translation import gettext as _

from planning.engine.ordering.explain.found_warnings import (
    LeftShortWarning,
    PassedByWarning,
    UnkeptWarning,
    UnreachedWarning,
    WasteWarning,
)
from planning.engine.plan import ShortfallKind
from planning.engine.plan_warnings import UnderMinimum
from planning.engine.shortfalls.after_orders import StillLacking
from planning.engine.usual_rule.line_reasons import LackingWarning, StaysWarning
from planning.sentences.packs import late_delivery_words
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import day_words, days_late_words, listed

MOST_DAYS_NAMED = 3
MOST_NAMED = 3


@sentence.register
def lacking_words(warning: LackingWarning, to: Teller) -> str:
    """Return what an item lacks although the orders come, and what can be done."""
    lack = warning.lack
    days = listed([day_words(on) for on in lack.starts_on], MOST_DAYS_NAMED)
    what = _("{item}: {kind} on {days}").format(
        item=to.heading(lack.node), kind=kind_words(lack.kind), days=days
    )
    return _lacking_template(lack).format(
        what=what,
        quantity=to.content(lack.node, lack.short_base),
        **_late_words(lack, to),
    )


def kind_words(kind: ShortfallKind) -> str:
    """Return in which way something is short."""
    return {
        ShortfallKind.OUT: _("out"),
        ShortfallKind.BELOW_SAFETY: _("below safety"),
        ShortfallKind.BELOW_PAR: _("below par"),
    }[kind]


def _late_words(lack: StillLacking, to: Teller) -> dict[str, str]:
    """Return which ordered delivery comes too late, and how late; empty for none."""
    if lack.late is None or lack.there_on is None:
        return {}
    return {
        "supplier": to.supplier(lack.late.supplier),
        "day": day_words(lack.late.deliver_on),
        "delivery": late_delivery_words(lack.late, lack.there_on, to),
        "late": days_late_words((lack.there_on - lack.first_on).days),
    }


def _lacking_template(lack: StillLacking) -> str:
    """Return what lacks and the ways out, with names for its figures."""
    if not lack.is_sold:
        return _(
            "{what}, and no supplier sells it. Buy it by hand, or give it a pack on "
            "its page."
        )
    if lack.is_never_usable:
        return _(
            "{what}, and all that suppliers bring has expired before the day after it "
            "comes, when it can first be used. Buy it by hand, or change the bake "
            "plan, or correct its shelf life or when deliveries are usable."
        )
    if lack.is_avoidable:
        return _(
            "{what}, {quantity} short, as these orders leave it; a delivery could "
            "help. Add it to an order, or change the bake plan."
        )
    if lack.kind is not ShortfallKind.OUT:  # nobody goes to a shop for a level
        if lack.late is None:
            return _("{what}, and no delivery that can still be ordered helps.")
        return _("{what}, until {supplier} comes on {day}.")
    if lack.late is not None:
        return _(
            "{what}, and no delivery is in time: {delivery}, {late}. Buy {quantity} "
            "elsewhere and order that much less, or change the bake plan."
        )
    if lack.is_ordered:
        return _(
            "{what}, {quantity} short with all that is ordered, and no other delivery "
            "helps. Buy that much elsewhere, or change the bake plan."
        )
    return _(
        "{what}, and no delivery that can still be ordered helps. Buy it by hand, or "
        "change the bake plan."
    )


@sentence.register
def stays_words(warning: StaysWarning, to: Teller) -> str:
    """Return which delivery does not come for its minimum order."""
    names = sorted({to.item(node) for node in warning.nodes})
    return _(
        "{supplier} does not come on {day}: {items} cannot reach the minimum order of "
        "{minimum}. Add something to the order, or buy elsewhere."
    ).format(
        supplier=to.supplier(warning.supplier),
        day=day_words(warning.deliver_on),
        items=listed(names, len(names)),
        minimum=to.minimum(warning.supplier),
    )


@sentence.register
def unreached_words(warning: UnreachedWarning, to: Teller) -> str:
    """Return what is short though a delivery could help, and why."""
    template = _(
        "{item}: {kind} on {day} with these orders. The search ended before it found "
        "orders that help."
    )
    if warning.suppliers:
        template = _(
            "{item}: {kind} on {day} with these orders. Sold by {asked}, which is not "
            "reached. Add something to the order, or buy elsewhere."
        )
    asked = [
        _("{supplier} from {minimum} on").format(
            supplier=to.supplier(place), minimum=to.minimum(place)
        )
        for place in warning.suppliers
    ]
    return template.format(
        item=to.heading(warning.node),
        kind=kind_words(warning.kind),
        day=day_words(warning.on),
        asked=listed(asked, MOST_NAMED),
    )


@sentence.register
def passed_by_words(warning: PassedByWarning, to: Teller) -> str:
    """Return what a supplier would be cheaper for, and why it is left out."""
    names = [to.item(node) for node in warning.nodes]
    return _(
        "{supplier}: cheaper for {items}, but all that it could bring comes to "
        "{goods}, under its minimum order of {minimum}. Bought elsewhere."
    ).format(
        supplier=to.supplier(warning.supplier),
        items=listed(names, MOST_NAMED),
        goods=to.money(warning.goods),
        minimum=to.minimum(warning.supplier),
    )


@sentence.register
def waste_words(warning: WasteWarning, to: Teller) -> str:
    """Return how much of the goods will expire, and what to do."""
    template = _(
        "Of {goods} for goods {wasted} is for what will expire: minimum orders or "
        "packs are far larger than the need. Buy by hand or elsewhere, or leave the "
        "delivery out."
    )
    if warning.is_decided:
        template = _(
            "Of {goods} for goods {wasted} is for what will expire: minimum orders, "
            "packs or what was decided on are far larger than the need. Look first at "
            "the orders that wait to be sent."
        )
    goods, wasted = to.money(warning.goods), to.money(warning.wasted)
    return template.format(goods=goods, wasted=wasted)


@sentence.register
def unkept_words(warning: UnkeptWarning, to: Teller) -> str:
    """Return why fixed lines are not on the orders."""
    return _(
        "{supplier} does not come on {day}: with what you fixed the order there stays "
        "below its minimum of {minimum}."
    ).format(
        supplier=to.supplier(warning.supplier),
        day=day_words(warning.deliver_on),
        minimum=to.minimum(warning.supplier),
    )


@sentence.register
def left_short_words(warning: LeftShortWarning, to: Teller) -> str:
    """Return what the buyer's wishes leave short."""
    template = {
        ShortfallKind.OUT: _(
            "{item}: out on {day}, {quantity} short, because of your wishes."
        ),
        ShortfallKind.BELOW_SAFETY: _(
            "{item}: {quantity} below its safety on {day}, because of your wishes."
        ),
        ShortfallKind.BELOW_PAR: _(
            "{item}: {quantity} below its par on {day}, because of your wishes."
        ),
    }[warning.kind]
    return template.format(
        item=to.heading(warning.node),
        day=day_words(warning.on),
        quantity=to.amounts.short(warning.node, warning.short_base),
    )


@sentence.register
def under_minimum_words(warning: UnderMinimum, to: Teller) -> str:
    """Return which order stays under its minimum, and what to do."""
    return _(
        "{supplier} on {day}: what was decided on stays under the minimum order of "
        "{minimum}. Add something, or ask {supplier} whether it comes all the same."
    ).format(
        supplier=to.supplier(warning.supplier),
        day=day_words(warning.deliver_on),
        minimum=to.money(warning.minimum),
    )
