"""From a pack's next price on, deliveries are charged it, without breaks."""

from datetime import date
from decimal import Decimal

import pytest

from planning.engine.costing import best_price_per_base
from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK, THOROUGH
from planning.engine.plan import ShortfallKind
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves

TUE, WED, FRI, SAT = (date(2026, 5, day) for day in (5, 6, 8, 9))
TUE_FRI = (1, 4)


def sacks(**terms):
    """Sacks of 10 g at $5, or $4 from ten on; trucks on Tuesday and Friday."""
    nodes = shelves.items({"name": "flour"})
    pack = shelves.pack(0, 10, 5, breaks=(PriceBreak(10, Decimal(4)),), **terms)
    return shelves.kitchen(
        nodes, suppliers=[shelves.supplier("Mill", TUE_FRI)], packs=[pack]
    )


def asked(kitchen, used, order, **options):
    window = shelves.window(days=7)
    demand = shelves.demand(kitchen.nodes, used)
    return order(
        kitchen, window, demand, possible_deliveries(kitchen, window), **options
    )


def lines(purchasing):
    return [
        (order.deliver_on, line.packs, line.price, line.line_cost)
        for order in purchasing.orders
        for line in order.lines
    ]


@pytest.mark.parametrize(
    ("on", "price", "at_ten"),
    [
        (date(2026, 5, 7), 5, 4),  # the day before
        (FRI, 7, 7),  # the day itself, without breaks
        (SAT, 7, 7),
    ],
)
def test_the_day_of_the_delivery_decides(on, price, at_ten):
    pack = sacks(next_price=Decimal(7), next_price_from=FRI).packs[0]

    charged = pack.on(on)

    assert (charged.price_at(1), charged.price_at(10)) == (price, at_ten)


def test_the_usual_rule_pays_the_next_price_at_the_last_delivery_in_time():
    kitchen = sacks(next_price=Decimal(7), next_price_from=FRI)

    purchasing = asked(kitchen, {(0, SAT): 20}, usual_rule)

    assert lines(purchasing) == [(FRI, 2, Decimal(7), Decimal("14.00"))]


@pytest.mark.parametrize("effort", [QUICK, THOROUGH], ids=["quick", "thorough"])
def test_the_search_buys_before_it_gets_dearer(effort):
    kitchen = sacks(next_price=Decimal(7), next_price_from=FRI)

    purchasing = asked(kitchen, {(0, SAT): 20}, best_orders, effort=effort)

    assert lines(purchasing) == [(TUE, 2, Decimal(5), Decimal("10.00"))]
    assert (purchasing.proof.status, purchasing.proof.gap) == ("proven", 0)


@pytest.mark.parametrize("effort", [QUICK, THOROUGH], ids=["quick", "thorough"])
def test_the_search_waits_for_what_gets_cheaper(effort):
    kitchen = sacks(next_price=Decimal(3), next_price_from=FRI)

    purchasing = asked(
        kitchen, {(0, WED): 10, (0, SAT): 20}, best_orders, effort=effort
    )

    # Wednesday's sack cannot wait; the two for Saturday save $4.
    assert lines(purchasing) == [
        (TUE, 1, Decimal(5), Decimal("5.00")),
        (FRI, 2, Decimal(3), Decimal("6.00")),
    ]
    assert purchasing.proof.status == "proven"


@pytest.mark.parametrize(
    ("next_price", "from_on", "per_gram"),
    [
        ("7", FRI, "0.4"),  # $4 for 10 g, from ten sacks on
        ("3", FRI, "0.3"),
        ("3", date(2026, 5, 11), "0.4"),  # the day after the window
        ("7", date(2026, 5, 4), "0.7"),  # nothing can be charged less any more
    ],
)
def test_the_best_price_is_the_lowest_that_a_delivery_can_be_charged(
    next_price, from_on, per_gram
):
    kitchen = sacks(next_price=Decimal(next_price), next_price_from=from_on)

    best = best_price_per_base(kitchen.packs, shelves.window(days=7))

    assert best == Decimal(per_gram)


def test_of_two_suppliers_the_remedy_goes_by_the_price_of_its_delivery():
    nodes = shelves.items({"name": "flour"})
    dearer = shelves.pack(0, 10, 5, next_price=Decimal(9), next_price_from=TUE)
    packs = [dearer, shelves.pack(0, 10, 6, supplier=1)]
    kitchen = shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Abel"), shelves.supplier("Zest")],
        packs=packs,
    )
    window = shelves.window(days=7)
    market = Market(kitchen, possible_deliveries(kitchen, window))

    assert market.remedy(DatedShortfall(0, ShortfallKind.OUT, WED)).supplier == 1
