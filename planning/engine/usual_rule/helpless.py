"""What lacks whatever is ordered, in a sentence with the ways out.

Written after the orders in force: what an order brings is not to be bought once more.
An item's name may be one or many (flour, egg whites), so no verb stands behind it.
"""

from planning.engine.kitchen import Kitchen
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.supplies import days_late_words
from planning.engine.shortfalls.after_orders import StillLacking
from planning.engine.usual_rule.because import late_delivery_words
from planning.engine.usual_rule.standing import Say
from planning.engine.words import capitalized, day_words, listed

MOST_DAYS_NAMED = 3
OTHERWISE = "or change the bake plan"


def lacking_words(kitchen: Kitchen, lack: StillLacking, say: Say) -> str:
    """Return what an item lacks although the orders come, and what can be done.

    `say` words an amount of a node.
    """
    days = listed([day_words(on) for on in lack.starts_on], MOST_DAYS_NAMED)
    what = f"{capitalized(kitchen.nodes.names[lack.node])}: {lack.kind} on {days}"
    if not lack.is_sold:
        return (
            f"{what}, and no supplier sells it. Buy it by hand, or give it a pack on "
            "its page."
        )
    if lack.is_never_usable:
        return (
            f"{what}, and all that suppliers bring has expired before the day after "
            f"it comes, when it can first be used. Buy it by hand, {OTHERWISE}, or "
            "correct its shelf life or when deliveries are usable."
        )
    amount = say(lack.node, lack.short_base)
    if lack.is_avoidable:
        return (
            f"{what}, {amount} short, as these orders leave it; a delivery could help. "
            f"Add it to an order, {OTHERWISE}."
        )
    if lack.kind is not ShortfallKind.OUT:  # nobody goes to a shop for a level
        return f"{what}, {_level_words(kitchen, lack)}."
    if lack.late is not None:
        return (
            f"{what}, and no delivery is in time: {_late_words(kitchen, lack)}. Buy "
            f"{amount} elsewhere and order that much less, {OTHERWISE}."
        )
    if lack.is_ordered:
        return (
            f"{what}, {amount} short with all that is ordered, and no other delivery "
            f"helps. Buy that much elsewhere, {OTHERWISE}."
        )
    return (
        f"{what}, and no delivery that can still be ordered helps. Buy it by hand, "
        f"{OTHERWISE}."
    )


def _level_words(kitchen: Kitchen, lack: StillLacking) -> str:
    """Return until when safety or par is not kept."""
    if lack.late is None:
        return "and no delivery that can still be ordered helps"
    supplier = kitchen.suppliers[lack.late.supplier].name
    return f"until {supplier} comes on {day_words(lack.late.deliver_on)}"


def _late_words(kitchen: Kitchen, lack: StillLacking) -> str:
    """Return which ordered delivery comes how much too late."""
    if lack.late is None or lack.there_on is None:
        return ""
    comes = late_delivery_words(kitchen, lack.late, lack.there_on)
    return f"{comes} is {days_late_words((lack.there_on - lack.first_on).days)}"
