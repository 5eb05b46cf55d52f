"""The answer to "can we take it?" in words: one wording for pages and commands."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.engine.scenarios.added_orders import MoreLine, MoreOrder
from planning.engine.scenarios.promise import (
    BelowSafety,
    Block,
    Cause,
    MoreShort,
    Promise,
    PromiseAnswer,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.plan.telling import Telling
from planning.scenarios.promise import CakeAnswer
from planning.sentences.cakes_named import cakes_words
from planning.sentences.words import capitalized, days_words, listed
from stock.wording.money_words import money_words

MOST_ORDERS_NAMED = 2
LOST_HEADING = gettext_lazy("It would hurt")
WORSE_HEADING = gettext_lazy("Short already, and shorter with it")


def answer_words(answered: CakeAnswer, tell: Telling) -> str:
    """Return the answer in one sentence."""
    promise = answered.promise
    if promise.answer is PromiseAnswer.NO:
        return _("No, because {block}.").format(
            block=block_words(answered, promise.blocks[0], tell)
        )
    if promise.answer is PromiseAnswer.FROM_THE_SHELVES:
        if promise.hurt_cakes:  # what lacks anyway is none of its doing
            return _(
                "Yes, from the shelves: stock and open orders are enough for this "
                "cake, but not for later ones."
            )
        return _("Yes, from the shelves: stock and open orders are enough.")
    return _("Yes, if ordered {when}.").format(
        when=_when(answered, promise.own_orders, tell)
    )


def later_words(answered: CakeAnswer, tell: Telling) -> str:
    """Return what has to be ordered for later cakes; blank where nothing has."""
    promise = answered.promise
    if promise.answer is PromiseAnswer.NO or not promise.later_orders:
        return ""
    order = _("order also {when}.") if promise.own_orders else _("order {when}.")
    order = order.format(when=_when(answered, promise.later_orders, tell))
    cakes = later_cakes(answered)
    if not cakes:
        return _("To make up for what it takes, {order}").format(order=order)
    verb = ngettext("does", "do", len(cakes))
    named = cakes_words(answered.kitchen, cakes, tell.day)
    return _("So that {named}, {verb} not go short later, {order}").format(
        named=named, verb=verb, order=order
    )


def later_cakes(answered: CakeAnswer) -> list[str]:
    """Return the planned cakes that it makes lack what only orders for later bring."""
    shorts = answered.promise.shorts
    return sorted(
        {cake for row in shorts if row.serves_by is None for cake in row.cakes}
    )


def horizon_words(answered: CakeAnswer, tell: Telling) -> str:
    """Return how far orders are suggested, where the cake is for a later day."""
    if not answered.is_beyond:
        return ""
    return _(
        "Orders are suggested up to {day} so far. What is to be ordered "
        "here beyond them is on no order yet."
    ).format(day=tell.day(answered.planned_to))


def other_block_words(answered: CakeAnswer, tell: Telling) -> list[str]:
    """Return what else stands against it, a sentence each."""
    return [
        f"{capitalized(block_words(answered, block, tell))}."
        for block in answered.promise.blocks[1:]
    ]


def block_words(answered: CakeAnswer, block: Block, tell: Telling) -> str:
    """Return one reason for a no: this, on this day."""
    name = answered.kitchen.nodes.names[block.node]
    day = tell.on_day(block.on)
    if block.cause is Cause.MADE_TOO_LATE:
        ago = days_words(block.days_late)
        return _("{name} should have been made {day}, {ago} before today").format(
            name=name, day=day, ago=ago
        )
    row = next(row for row in answered.promise.shorts if row.node == block.node)
    short = _("{name} will be {short}").format(
        name=name, short=_short(answered, row, tell)
    )
    if block.cause is Cause.NOT_SOLD:
        return _("{short}, and no supplier sells it").format(short=short)
    if block.short_base + LEAST_LACK_BASE < row.more_base:
        return _("{short}, and no delivery brings all of it in time").format(
            short=short
        )
    return _("{short}, and no delivery comes in time").format(short=short)


def order_words(answered: CakeAnswer, order: MoreOrder, tell: Telling) -> str:
    """Return where to order, by when, and for which day."""
    supplier = answered.kitchen.suppliers[order.delivery.supplier].name
    moment = tell.moment(order.delivery.order_by)
    return _("{supplier} by {moment}, for {day}").format(
        supplier=supplier, moment=moment, day=tell.day(order.delivery.deliver_on)
    )


def line_words(answered: CakeAnswer, order: MoreOrder, line: MoreLine) -> str:
    """Return how many packs a line grows by, or that it needs no more."""
    name = answered.kitchen.nodes.names[line.pack.node]
    what = f"\N{MULTIPLICATION SIGN} {line.pack.label}, {name}"
    waits = answered.waiting_for(order.delivery)
    drafted = waits.packs.get(line.pack.pack_id, 0) if waits else 0
    is_drafted = waits is not None and drafted == line.packs
    beside = _("drafted") if is_drafted else _("suggested")
    if not line.packs:
        words = f"{line.more_packs:,} {what}"
    elif not line.more_packs:
        words = _("{packs:,} {what}: as {beside} already").format(
            packs=line.packs, what=what, beside=beside
        )
    else:
        words = _("{more_packs:,} more {what}, beside the {packs:,} {beside}").format(
            more_packs=line.more_packs, what=what, packs=line.packs, beside=beside
        )
    if waits is not None and not is_drafted:
        words += _("; {reference} has {value}").format(
            reference=waits.reference, value=f"{drafted:,}" if drafted else _("none")
        )
    return words


def _waiting_words(*, is_approved: bool, grows: bool) -> str:
    """Return the sentence of an order that waits for the delivery already."""
    if is_approved:
        return (
            _("{reference} is approved for this delivery; add to it what is new.")
            if grows
            else _("{reference} is approved for this delivery.")
        )
    return (
        _("{reference} is a draft for this delivery; add to it what is new.")
        if grows
        else _("{reference} is a draft for this delivery.")
    )


def order_notes(answered: CakeAnswer, order: MoreOrder) -> Iterator[str]:
    """Yield what is to be minded of an order, a sentence each."""
    currency = answered.kitchen.bakery.currency
    supplier = answered.kitchen.suppliers[order.delivery.supplier]
    if not order.is_for_cake and answered.promise.answer is not PromiseAnswer.NO:
        yield _("Not for this cake: for later ones.")
    if (waits := answered.waiting_for(order.delivery)) is not None:
        grows = any(line.more_packs for line in order.lines)
        sentence = _waiting_words(is_approved=waits.state == "approved", grows=grows)
        yield sentence.format(reference=waits.reference)
    if order.more_fee > 0:
        yield _("The delivery itself costs {money}.").format(
            money=money_words(order.more_fee, currency)
        )
    if order.more_fee < 0:
        yield _("The delivery becomes free: {money}.").format(
            money=money_words(-order.more_fee, currency)
        )
    if order.under_minimum:
        yield _("It is {money} under the minimum order of {money2}: {filling}").format(
            money=money_words(order.under_minimum, currency),
            money2=money_words(supplier.minimum_order, currency),
            filling=_filling_words(order),
        )


def _filling_words(order: MoreOrder) -> str:
    if order.is_beyond:
        return _(
            "nobody has planned yet what else comes that day. If nothing does, fill it "
            "up, or it does not come. That is not counted here."
        )
    if order.is_new:
        return _(
            "fill it up with something, which is counted here, or it does not come."
        )
    return _("add something to it, or it does not come.")


def cost_words(answered: CakeAnswer) -> str:
    """Return what the cake takes in ingredients, in money."""
    promise = answered.promise
    currency = answered.kitchen.bakery.currency
    words = _("Ingredients: {what}").format(
        what=money_words(promise.ingredients_cost, currency)
    )
    names = [answered.kitchen.nodes.names[node] for node in promise.without_price]
    if not names:
        return _("{words}, at the best price of each.").format(words=words)
    return _("{words}, without {names}, which nobody sells.").format(
        words=words, names=listed(names, 3)
    )


def below_safety_words(answered: CakeAnswer, row: BelowSafety, tell: Telling) -> str:
    """Return how far below safety an item falls, and whether orders make it good."""
    gap = answered.words.content(row.node, row.gap_base)
    more = answered.words.content(row.node, row.more_base)
    how = _("{gap} below safety").format(gap=gap)
    if more != gap:
        how += _(", {more} of it for this cake").format(more=more)
    good = _("; the suggested orders make it good") if row.is_made_good else ""
    return f"{capitalized(tell.on_day(row.first_on))}, {how}{good}."


def short_words(answered: CakeAnswer, row: MoreShort, tell: Telling) -> str:
    """Return by how much an item would run short without an order, and for whom."""
    words, promise = _short(answered, row, tell), answered.promise
    if row.cakes:
        whole = (
            _("{words}; {cakes}, would lack it too")
            if row.serves_by
            else _("{words}; {cakes}, would lack it")  # the cake itself has enough
        )
        cakes = cakes_words(answered.kitchen, row.cakes, tell.day)
        words = whole.format(words=words, cakes=cakes)
    if is_suggested(promise, row):
        words += (
            _(", unless the suggested orders come")
            if row.cakes
            else _("; the suggested orders bring it")
        )
    elif promise.answer is PromiseAnswer.NO and not _is_blocked(promise, row):
        words += _("; a delivery can still bring it")
    return f"{words}."


def _short(answered: CakeAnswer, row: MoreShort, tell: Telling) -> str:
    """Return how much the cake makes an item short, or shorter, and from which day."""
    amount = answered.words.content(row.node, row.more_base)
    day = tell.day(row.first_on)
    if row.more_base == row.short_base:
        return _("{amount} short from {day}").format(amount=amount, day=day)
    return _("{amount} shorter than without it, from {day}").format(
        amount=amount, day=day
    )


def is_suggested(promise: Promise, row: MoreShort) -> bool:
    """Whether the orders bring an item that are suggested anyway, as they are."""
    lines = (line for order in promise.orders for line in order.lines)
    grows = any(line.pack.node == row.node and line.more_packs for line in lines)
    return not grows and not _is_blocked(promise, row)


def _is_blocked(promise: Promise, row: MoreShort) -> bool:
    return any(block.node == row.node for block in promise.blocks)


def left_over_words(answered: CakeAnswer, node: int, tell: Telling) -> str:
    """Return why more is taken first than in all; blank where it is not.

    What is made in whole batches, or cut from whole pieces, leaves some for later.
    """
    change = answered.promise.effect
    most_on, most_base = change.most_extra(node)
    extra_base = float(change.extra_base[list(change.nodes).index(node)])
    if most_base - extra_base < LEAST_LACK_BASE:
        return ""
    most = answered.words.content(node, most_base)
    return _("Whole batches take {most} by {day}; the rest is left for later.").format(
        most=most, day=tell.day(most_on)
    )


def named(answered: CakeAnswer, node: int, words: str) -> str:
    """Return what is said of an item with its name before it."""
    name = capitalized(answered.kitchen.nodes.names[node])
    return f"{name}: {words[:1].lower()}{words[1:]}"


def _when(answered: CakeAnswer, orders: Sequence[MoreOrder], tell: Telling) -> str:
    """Return by when what is to be ordered, and what is new in it."""
    news = _news(orders)
    how = "" if news else f"{_as_what(answered, orders)}: "
    words = f"{how}{_moments(answered, orders, tell)}"
    if fillings := [order for order in orders if _has_to_be_filled(order)]:
        words += _(", and filled up to {minimums}").format(
            minimums=_minimums(answered, fillings)
        )
    return f"{words}; {news}" if news else words


def _news(orders: Sequence[MoreOrder]) -> str:
    """Return how many orders are new, and how many lines of the others."""
    new_orders = sum(order.is_new for order in orders)
    lines = [line for order in orders if not order.is_new for line in order.lines]
    new_lines = sum(not line.packs for line in lines)
    grows = sum(bool(line.packs and line.more_packs) for line in lines)
    said = [
        words
        for count, words in (
            (new_orders, _("1 order is new")),
            (new_lines, _("1 line is new")),
            (grows, _("1 line grows")),
        )
        if count
        for words in [words if count == 1 else _many(count, words)]
    ]
    return listed(said, len(said))


def _many(count: int, words: str) -> str:
    """Return `1 line grows` for more than one: `2 lines grow`."""
    _, noun, verb, *rest = words.split()
    plural = "are" if verb == "is" else verb.removesuffix("s")
    return " ".join([f"{count:,}", f"{noun}s", plural, *rest])


def _as_what(answered: CakeAnswer, orders: Sequence[MoreOrder]) -> str:
    def is_drafted(order: MoreOrder) -> bool:
        waits = answered.waiting_for(order.delivery)
        return waits is not None and all(
            waits.packs.get(line.pack.pack_id) == line.packs for line in order.lines
        )

    drafted = [is_drafted(order) for order in orders]
    if all(drafted):
        return _("as drafted")
    return _("as drafted and suggested") if any(drafted) else _("as suggested")


def _has_to_be_filled(order: MoreOrder) -> bool:
    return bool(order.under_minimum) and not order.is_beyond


def _minimums(answered: CakeAnswer, orders: Sequence[MoreOrder]) -> str:
    """Return how much is to be added to whose order for it to come at all."""
    currency = answered.kitchen.bakery.currency
    said = [
        _("the minimum of {name} ({money} more)").format(
            name=answered.kitchen.suppliers[order.delivery.supplier].name,
            money=money_words(order.under_minimum, currency),
        )
        for order in orders
    ]
    return listed(said, MOST_ORDERS_NAMED)


def _moments(answered: CakeAnswer, orders: Sequence[MoreOrder], tell: Telling) -> str:
    said = [
        _("by {moment} from {name}").format(
            moment=tell.moment(order.delivery.order_by),
            name=answered.kitchen.suppliers[order.delivery.supplier].name,
        )
        for order in orders
    ]
    if len(said) <= MOST_ORDERS_NAMED:
        return listed(said, MOST_ORDERS_NAMED)
    return _("{said}, and {count} more orders after it").format(
        said=said[0], count=len(said) - 1
    )


def hurt_words(answered: CakeAnswer, tell: Telling) -> Iterator[str]:
    """Yield which planned cakes go short because of it, and which go shorter."""
    promise = answered.promise
    for heading, cakes in (
        (str(LOST_HEADING), promise.lost_cakes),
        (unordered_heading(promise), promise.unordered_cakes),
        (f"{WORSE_HEADING}:", promise.worse_cakes),
    ):
        if cakes:
            yield f"{heading} {cakes_words(answered.kitchen, cakes, tell.day)}."


def unordered_heading(promise: Promise) -> str:
    """Return how it is said, before their names, that cakes hang on an order."""
    if promise.lost_cakes:
        return _("Not ordered, it would also hurt")
    return _("Not ordered, it would hurt")
