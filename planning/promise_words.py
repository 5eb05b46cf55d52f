"""The answer to "can we take it?" in words: one wording for pages and commands."""

from collections.abc import Iterator

from planning.engine.trying.more_orders import MoreLine, MoreOrder
from planning.engine.trying.promise import Answer, BelowSafety, Block, Cause, MoreShort
from planning.engine.words import capitalized, days_words, listed
from planning.taking import Answered
from planning.telling import Telling
from stock.money_words import money_words

MOST_CAKES_NAMED = 4
MOST_ORDERS_NAMED = 2


def answer_words(answered: Answered, tell: Telling) -> str:
    """Return the answer in one sentence."""
    promise = answered.promise
    if promise.answer is Answer.FROM_THE_SHELVES:
        return "Yes, from the shelves: stock and open orders are enough."
    if promise.answer is Answer.NO:
        return f"No, because {block_words(answered, promise.blocks[0], tell)}."
    grows = sum(
        bool(line.more_packs) for order in promise.orders for line in order.lines
    )
    if not grows:
        return f"Yes, if ordered as suggested: {_moments(answered, tell)}."
    lines = "1 line grows" if grows == 1 else f"{grows} lines grow"
    return f"Yes, if ordered {_moments(answered, tell)}; {lines}."


def other_block_words(answered: Answered, tell: Telling) -> list[str]:
    """Return what else stands against it, a sentence each."""
    return [
        f"{capitalized(block_words(answered, block, tell))}."
        for block in answered.promise.blocks[1:]
    ]


def block_words(answered: Answered, block: Block, tell: Telling) -> str:
    """Return one reason for a no: this, on this day."""
    name = answered.kitchen.nodes.names[block.node]
    day = tell.on_day(block.on)
    if block.cause is Cause.MADE_TOO_LATE:
        ago = days_words(block.days_late)
        return f"{name} should have been made {day}, {ago} before today"
    amount = answered.words.short(block.node, block.short_base)
    if block.cause is Cause.NOT_SOLD:
        return f"{name} will be {amount} short {day}, and no supplier sells it"
    return f"{name} will be {amount} short {day}, and no delivery comes in time"


def order_words(answered: Answered, order: MoreOrder, tell: Telling) -> str:
    """Return where to order, by when, and for which day."""
    supplier = answered.kitchen.suppliers[order.delivery.supplier].name
    moment = tell.moment(order.delivery.order_by)
    return f"{supplier} by {moment}, for {tell.day(order.delivery.deliver_on)}"


def line_words(answered: Answered, line: MoreLine) -> str:
    """Return how many packs a line grows by."""
    name = answered.kitchen.nodes.names[line.pack.node]
    what = f"\N{MULTIPLICATION SIGN} {line.pack.label}, {name}"
    if not line.more_packs:
        return f"{line.packs:,} {what}: as suggested already"
    if not line.packs:
        return f"{line.more_packs:,} {what}"
    return f"{line.more_packs:,} more {what}, beside the {line.packs:,} suggested"


def order_notes(answered: Answered, order: MoreOrder) -> Iterator[str]:
    """Yield what is to be minded of an order, a sentence each."""
    currency = answered.kitchen.bakery.currency
    supplier = answered.kitchen.suppliers[order.delivery.supplier]
    if order.more_fee > 0:
        yield f"The delivery itself costs {money_words(order.more_fee, currency)}."
    if order.more_fee < 0:
        yield f"The delivery becomes free: {money_words(-order.more_fee, currency)}."
    if order.under_minimum:
        yield (
            f"It is {money_words(order.under_minimum, currency)} under the minimum "
            f"order of {money_words(supplier.minimum_order, currency)}: add something "
            "to it, or it does not come."
        )


def cost_words(answered: Answered) -> str:
    """Return what the cake takes in ingredients, in money."""
    promise = answered.promise
    currency = answered.kitchen.bakery.currency
    words = f"Ingredients: {money_words(promise.ingredients_cost, currency)}"
    names = [answered.kitchen.nodes.names[node] for node in promise.without_price]
    if not names:
        return f"{words}, at the best price of each."
    return f"{words}, without {listed(names, 3)}, which nobody sells."


def below_safety_words(answered: Answered, row: BelowSafety, tell: Telling) -> str:
    """Return how far below safety an item falls, and whether orders make it good."""
    gap = answered.words.short(row.node, row.gap_base)
    more = answered.words.short(row.node, row.more_base)
    how = f"{gap} below safety"
    if more != gap:
        how += f", {more} of it for this cake"
    good = "; the suggested orders make it good" if row.is_made_good else ""
    return f"{capitalized(tell.on_day(row.first_on))}, {how}{good}."


def short_words(answered: Answered, row: MoreShort, tell: Telling) -> str:
    """Return by how much an item would run short without an order, and for whom."""
    more = answered.words.short(row.node, row.more_base)
    words = f"{more} more short from {tell.day(row.first_on)}"
    if row.more_base == row.short_base:
        words = f"{more} short from {tell.day(row.first_on)}"
    if row.cakes:
        words += f"; {listed(row.cakes, MOST_CAKES_NAMED)} would lack it too"
    return f"{words}."


def named(answered: Answered, node: int, words: str) -> str:
    """Return what is said of an item with its name before it."""
    name = capitalized(answered.kitchen.nodes.names[node])
    return f"{name}: {words[:1].lower()}{words[1:]}"


def _moments(answered: Answered, tell: Telling) -> str:
    said = [
        f"by {tell.moment(order.delivery.order_by)} from "
        f"{answered.kitchen.suppliers[order.delivery.supplier].name}"
        for order in answered.promise.orders
    ]
    if len(said) <= MOST_ORDERS_NAMED:
        return listed(said, MOST_ORDERS_NAMED)
    return f"{said[0]}, and {len(said) - 1} more orders after it"


def hurt_words(answered: Answered) -> str:
    """Return which planned cakes go short because of it; blank where none does."""
    promise = answered.promise
    if not promise.hurt_cakes:
        return ""
    cakes = listed(promise.hurt_cakes, MOST_CAKES_NAMED)
    if promise.answer is Answer.NO:
        return f"It would hurt {cakes}."
    return f"Not ordered, it would hurt {cakes}."
