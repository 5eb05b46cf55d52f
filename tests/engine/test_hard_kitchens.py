"""Hard kitchens by the usual rule and the search: what lacks is told, and no more."""

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.hard_kitchens import ITEMS, hard_kitchen
from tests.engine.mended import LEAST_LACK, by_the_search, cream
from tests.engine.said import said
from tests.engine.simulator import (
    flood_trucks,
    least_for_par,
    par_days_of,
    simulate,
    trucks_of,
)
from tests.engine.usual_questions import MON, day, lines_of

MOST_WORDS = 20


class Followed:
    """A hard kitchen with orders for it, beside no limit at all, day by day."""

    def __init__(self, number, buy):
        self.kitchen, self.window, used = hard_kitchen(number)
        self.deliveries = possible_deliveries(self.kitchen, self.window)
        demand = shelves.demand(self.kitchen.nodes, used)
        orders = buy(self.kitchen, self.window, demand, self.deliveries)
        self.purchasing = said(self.kitchen, orders)
        trucks = trucks_of(self.kitchen, self.purchasing.orders)
        flood = flood_trucks(self.kitchen, self.deliveries)
        self.outcome = simulate(self.kitchen, self.window, used, trucks)
        self.flood = simulate(self.kitchen, self.window, used, flood)

    def lacks(self, outcome, node):
        """Return what lacks, as pairs of a way and a day."""
        safety = self.kitchen.nodes.safety_base[node]
        pairs = [(each.supplier, each.deliver_on) for each in self.deliveries]
        asked = par_days_of(self.kitchen, self.window, node, pairs)
        found = set()
        for (of, on), there in outcome.days.items():
            if of != node:
                continue
            if there.outstanding >= LEAST_LACK:
                found.add(("out", on))
            if there.closing <= safety - LEAST_LACK:
                found.add(("below safety", on))
            least = least_for_par(self.kitchen, node, on) - LEAST_LACK
            if on in asked and there.closing <= least:
                found.add(("below par", on))
        return found


@pytest.fixture(scope="module", params=[(usual_rule, 150), (by_the_search, 40)])
def followed(request):
    buy, kitchens = request.param
    return [Followed(number, buy) for number in range(kitchens)]


def test_hard_kitchens_lack_nothing_that_any_delivery_would_help(followed):
    for each in followed:
        assert each.outcome.broken_rules == []
        for node in range(ITEMS):
            lacks = each.lacks(each.outcome, node)
            assert lacks <= each.lacks(each.flood, node)


def test_hard_kitchens_are_warned_of_what_lacks_and_of_nothing_else(followed):
    for each in followed:
        warned = {words.partition(":")[0] for words in each.purchasing.warnings}
        lacking = {
            f"Item {node}" for node in range(ITEMS) if each.lacks(each.outcome, node)
        }
        assert {name for name in warned if name.startswith("Item")} == lacking


def test_no_reason_is_longer_than_twenty_words(followed):
    for each in followed:
        for order in each.purchasing.orders:
            for line in order.lines:
                for reason in line.because:
                    words = [word for word in reason.split() if word[-1].isalpha()]
                    assert len(words) <= MOST_WORDS, reason


def test_nothing_that_is_ordered_is_to_be_bought_by_hand(followed):
    for each in followed:
        ordered = {
            f"Item {line.pack.node}"
            for order in each.purchasing.orders
            for line in order.lines
        }
        by_hand = {
            words.partition(":")[0]
            for words in each.purchasing.warnings
            if "by hand" in words
        }
        assert not ordered & by_hand


def test_hard_kitchens_have_what_makes_them_hard(followed):
    warnings = [words for each in followed for words in each.purchasing.warnings]
    lines = [
        (each, order, line)
        for each in followed
        for order in each.purchasing.orders
        for line in order.lines
    ]

    for gist in ("by hand", "order that much less", "with all that is ordered"):
        assert any(gist in words for words in warnings)
    assert any(each.kitchen.nodes.par_base[line.pack.node] for each, _, line in lines)
    assert any(
        each.kitchen.suppliers[order.supplier].minimum_order > order.goods_cost / 2
        for each, order, _ in lines
    )


def test_the_rule_spares_older_stock_in_some_of_them():
    reasons = [
        words
        for number in range(150)
        for order in Followed(number, usual_rule).purchasing.orders
        for line in order.lines
        for words in line.because
    ]

    assert any("spares older stock" in words for words in reasons)


@pytest.mark.parametrize("levels", [{}, {"safety": 5}, {"par": 20}])
def test_what_is_out_of_date_before_it_can_be_used_is_never_bought(levels):
    # Cream keeps to the day it comes, and Dairy's goods are used from the next day on.
    dairy = shelves.supplier("Dairy", cutoff_days=0, usable_next_day=True)
    kitchen = cream([(20, day(1))], keeps=1, suppliers=[dairy], **levels)
    window = shelves.window(MON, 7)
    asked = (
        kitchen,
        window,
        shelves.demand(kitchen.nodes, {(0, day(1)): 30, (0, day(4)): 15}),
        possible_deliveries(kitchen, window),
    )

    by_rule, by_search = (
        said(kitchen, buy(*asked)) for buy in (usual_rule, by_the_search)
    )

    assert (lines_of(by_rule), lines_of(by_search)) == ([], [])
    why = (
        "Cream: out on Tue May 5, and all that suppliers bring has expired before "
        "the day after it comes, when it can first be used. Buy it by hand, or change "
        "the bake plan, or correct its shelf life or when deliveries are usable."
    )
    assert why in by_rule.warnings
    assert why in by_search.warnings
