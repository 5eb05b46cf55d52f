"""The answer to "can we take it?" as its page shows it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from planning.engine.costing import NOTHING
from planning.engine.kitchen import NO_NODE
from planning.engine.scenarios.added_orders import MoreOrder
from planning.engine.scenarios.one_more import more_by_taker
from planning.engine.scenarios.promise import Promise, PromiseAnswer
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.plan.planner import Planned
from planning.scenarios.promise import CakeAnswer
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shelf.shelf_days import ShelfLine, ShelfLines
from planning.web.shortfalls.shortfall_rows import CakeFinder, CakeList
from planning.wording.promise_words import (
    LOST_HEADING,
    WORSE_HEADING,
    answer_words,
    below_safety_words,
    horizon_words,
    is_suggested,
    later_words,
    left_over_words,
    line_words,
    order_notes,
    order_words,
    other_block_words,
    short_words,
    unordered_heading,
)
from stock.wording.money_words import money_words, price_words

# How the big sentence is marked; see components/state_sentence.html.
MARKS = {
    PromiseAnswer.FROM_THE_SHELVES: "well",
    PromiseAnswer.IF_ORDERED: "low",
    PromiseAnswer.NO: "short",
}


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One delivery that the cake depends on."""

    heading: str
    lines: list[str]
    notes: list[str]
    more_cost: str  # blank where it costs no more


@dataclass(frozen=True, slots=True)
class TouchedRow:
    """An item of which the cake takes some: its days without the cake and with it."""

    item_id: int
    item_name: str
    takes: str
    takers: list[tuple[str, str]]  # how much more, and for what
    words: str  # what becomes of it; blank where there is enough
    left_over: str  # that batches take more first; blank where they do not
    mark: str
    before: ShelfLine
    after: ShelfLine


@dataclass(frozen=True, slots=True)
class CostRow:
    """An item that the cake takes more of, and what that much of it costs."""

    item_id: int
    item_name: str
    amount: SaidAmount
    cost: str


@dataclass(frozen=True, slots=True)
class TakeAnswer:
    """The answer in one sentence, and what is behind it."""

    due_words: str
    answer_mark: str  # given back where the cake is added
    sentence: str
    mark: str
    is_yes: bool
    others: list[str]  # what else stands against it, or is to be minded
    facts: list[tuple[str, str, str]]
    costs: list[CostRow]
    ingredients_cost: str
    orders: list[OrderRow]
    horizon: str  # how far orders are suggested; blank where that is far enough
    touched: list[TouchedRow]  # what gets short or low
    enough: list[TouchedRow]
    lost: CakeList  # what they lack nothing can bring
    lost_heading: str
    unordered: CakeList  # what they lack can be ordered
    unordered_heading: str
    worse: CakeList  # short already, and shorter with it
    worse_heading: str


def take_answer(answered: CakeAnswer, today: date) -> TakeAnswer:
    """Return the answer ready to be shown. Three queries, for words and cakes."""
    words, promise = PageWords(answered.planned, today), answered.promise
    is_yes = promise.answer is not PromiseAnswer.NO
    touched = list(_touched(answered, words))
    cakes = CakeFinder(words, set(promise.all_hurt_cakes))
    return TakeAnswer(
        due_words=words.day(answered.asked.due_on),
        answer_mark=answered.mark,
        sentence=answer_words(answered, words.telling),
        mark="low" if promise.later_orders and is_yes else MARKS[promise.answer],
        is_yes=is_yes,
        others=_others(answered, words),
        facts=_facts(answered),
        costs=_costs(answered, words),
        ingredients_cost=_money(answered, promise.ingredients_cost),
        orders=[_order(answered, order, words) for order in promise.orders if is_yes],
        horizon=horizon_words(answered, words.telling),
        touched=[row for row in touched if row.words],
        enough=[row for row in touched if not row.words],
        lost=cakes.named(promise.lost_cakes),
        lost_heading=str(LOST_HEADING),
        unordered=cakes.named(promise.unordered_cakes),
        unordered_heading=unordered_heading(promise),
        worse=cakes.named(promise.worse_cakes),
        worse_heading=str(WORSE_HEADING),
    )


def _others(answered: CakeAnswer, words: PageWords) -> list[str]:
    later = later_words(answered, words.telling)
    blocks = other_block_words(answered, words.telling)
    return [later, *blocks] if later else blocks


def _facts(answered: CakeAnswer) -> list[tuple[str, str, str]]:
    promise, nodes = answered.promise, answered.kitchen.nodes
    currency = answered.kitchen.bakery.currency
    unsold = len(promise.without_price)
    cost_note = _("at the best price of each")
    if unsold:
        cost_note = _("without {unsold} that nobody sells").format(unsold=unsold)
    more = sum((order.more_cost for order in promise.orders), NOTHING)
    low = [
        nodes.names[row.node] for row in promise.below_safety if not row.is_made_good
    ]
    filling = sum((order.filling_cost for order in promise.orders), NOTHING)
    more_note = _("fees counted")
    if filling:
        more_note += _(", and {money} to reach minimum orders").format(
            money=money_words(filling, currency)
        )
    unplanned = sum(
        (order.under_minimum for order in promise.orders if order.is_beyond), NOTHING
    )
    if unplanned:
        more_note += _(", not the {money} under a minimum").format(
            money=money_words(unplanned, currency)
        )
    to_order = (_("More to order"), money_words(more, currency), more_note)
    return [
        (_("Ingredients"), money_words(promise.ingredients_cost, currency), cost_note),
        *([to_order] if promise.answer is not PromiseAnswer.NO else []),
        (_("Left below safety"), str(len(low)), ", ".join(low[:3])),
        _hurt_fact(promise),
    ]


def _hurt_fact(promise: Promise) -> tuple[str, str, str]:
    worse = len(promise.worse_cakes)
    note = _("{worse} of them short already").format(worse=worse) if worse else ""
    return _("Cakes it could hurt"), str(len(promise.all_hurt_cakes)), note


def _costs(answered: CakeAnswer, words: PageWords) -> list[CostRow]:
    """Return the items behind the cost, the dearest first."""
    nodes, currency = answered.kitchen.nodes, answered.kitchen.bakery.currency
    rows = [
        row
        for row in answered.promise.ingredients
        if abs(row.more_base) >= LEAST_LACK_BASE
    ]
    return [
        CostRow(
            item_id=nodes.ids[row.node],
            item_name=nodes.names[row.node],
            amount=words.amount(row.node, row.more_base),
            cost=price_words(row.cost, currency),
        )
        for row in sorted(rows, key=lambda row: -row.cost)
    ]


def _money(answered: CakeAnswer, amount: Decimal) -> str:
    return money_words(amount, answered.kitchen.bakery.currency)


def _order(answered: CakeAnswer, order: MoreOrder, words: PageWords) -> OrderRow:
    currency = answered.kitchen.bakery.currency
    more_cost = money_words(order.more_cost, currency) if order.more_cost else ""
    return OrderRow(
        heading=order_words(answered, order, words.telling),
        lines=[line_words(answered, order, line) for line in order.lines],
        notes=list(order_notes(answered, order)),
        more_cost=more_cost,
    )


def _touched(answered: CakeAnswer, words: PageWords) -> Iterable[TouchedRow]:
    """Yield the items it takes some of: what runs short first, then what gets low."""
    promise, change = answered.promise, answered.promise.effect
    says = {
        row.node: ("low", below_safety_words(answered, row, words.telling))
        for row in promise.below_safety
    }
    says |= {
        row.node: (
            "low" if is_suggested(promise, row) else "short",
            short_words(answered, row, words.telling),
        )
        for row in promise.shorts
    }
    before, after = ShelfLines(answered.planned), ShelfLines(_with_cake(answered))
    extra_base = dict(zip(change.nodes, change.extra_base.tolist(), strict=True))
    order = {"short": 0, "low": 1, "well": 2}
    for node in sorted(
        change.nodes, key=lambda node: order[says.get(node, ("well", ""))[0]]
    ):
        mark, sentence = says.get(node, ("well", ""))
        yield TouchedRow(
            item_id=answered.kitchen.nodes.ids[node],
            item_name=answered.kitchen.nodes.names[node],
            takes=_takes(words, node, extra_base[node]),
            takers=_takers(answered, words, node),
            words=sentence,
            left_over=left_over_words(answered, node, words.telling),
            mark=mark,
            before=before.line(node),
            after=after.line(node),
        )


def _takes(words: PageWords, node: int, extra_base: float) -> str:
    if abs(extra_base) < LEAST_LACK_BASE:
        return _("as much as without it, on other days")
    return str(words.amount(node, extra_base))


def _takers(answered: CakeAnswer, words: PageWords, node: int) -> list[tuple[str, str]]:
    """Return the recipes through which the cake takes an item, the most first."""
    change, nodes = answered.promise.effect, answered.kitchen.nodes
    found = more_by_taker(answered.planned.explosion, change, node)
    return [
        (
            str(words.amount(node, more_base)),
            _("parts of {names}").format(names=nodes.names[node])
            if taker == NO_NODE
            else nodes.names[taker],
        )
        for taker, more_base in found.items()
    ]


def _with_cake(answered: CakeAnswer) -> Planned:
    """Return the plan with the days of the touched items as the cake makes them."""
    planned = answered.planned
    projection = answered.promise.effect.after()
    return replace(planned, plan=replace(planned.plan, projection=projection))
