"""Sums that are shown add up as they are shown, rounding and all."""

from datetime import timedelta
from fractions import Fraction
from html import unescape

import pytest

from planning.plan.amount_words import AmountWords
from planning.plan.planner import make_plan
from planning.web.page_words import PageWords
from planning.web.shortfalls.lack_chains import lack_chain
from tests import build
from tests.build import MONDAY, NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

SATURDAY = MONDAY + timedelta(days=5)
OUNCE = Fraction("28.349523125")


def chain_of_butter(*, on_hand_base, used_base, par_base=0):
    butter = build.item("butter", on_hand_base=on_hand_base, par_base=par_base)
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    build.planned_cake(build.cake(lines=[(butter, used_base)]), due_on=SATURDAY)
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    [row] = planned.plan.shortfalls
    return planned.words, row.node, lack_chain(PageWords(planned, MONDAY), row)


def shown(chain):
    return [(line.label, line.amount.words, line.less) for line in chain.lines]


def test_what_rounding_made_of_a_sum_stands_in_it():
    # 1,000 g are 2 lb 3.27 oz, 1,500 g 3 lb 4.91 oz and 500 g 1 lb 1.64 oz: said in
    # whole or half ounces 3 lb 5 oz less 2 lb 3 oz would be 1 lb 2 oz
    _, _, chain = chain_of_butter(on_hand_base=1_000, used_base=1_500)

    labels = [label for label, _, _ in shown(chain)]
    assert labels[-1] == "Rounding"
    assert chain.comes_to.label == "Short"


@pytest.mark.parametrize("par_base", [0, 13_608])
@pytest.mark.parametrize("used_base", [1_500, 27_896, 3_333, 12_345.678])
@pytest.mark.parametrize("on_hand_base", [0.5, 1_000, 1_400.25])
def test_the_words_of_every_sum_add_up(on_hand_base, used_base, par_base):
    words, node, chain = chain_of_butter(
        on_hand_base=on_hand_base, used_base=used_base, par_base=par_base
    )

    total = sum(
        words.said_base(node, line.amount.words) * (-1 if line.less else 1)
        for line in chain.lines
    )
    assert total == words.said_base(node, chain.comes_to.amount.words)


@pytest.mark.parametrize(
    "grams", [(1_332, 737), (1_318, 722), (455, 460, 470), (20_000, 313), (7, 9)]
)
def test_what_a_recipe_takes_is_the_sum_of_its_cakes_as_they_are_said(grams):
    butter = build.item("butter", on_hand_base=0)
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    cake = build.cake(lines=[(butter, 1)])
    for quantity in grams:
        build.planned_cake(cake, due_on=SATURDAY, quantity=quantity)
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    [row] = planned.plan.shortfalls

    [taking] = lack_chain(PageWords(planned, MONDAY), row).takings

    said = [share.amount for share in taking.cakes]
    parts = sum(planned.words.said_base(row.node, each.words) for each in said)
    rounding = 0
    if taking.rounding:
        words = taking.rounding.amount.words
        sign = -1 if taking.rounding.less else 1
        rounding = sign * planned.words.said_base(row.node, words)
    assert len(said) == len(grams)
    total = planned.words.said_base(row.node, taking.amount.words)
    # Very little is said in tenths of a gram.
    assert abs(parts + rounding - total) < Fraction(1, 20)


@pytest.mark.parametrize(
    "grams", [(1_332, 737), (1_318, 722), (455, 460, 470), (20_000, 313), (7, 9)]
)
def test_what_one_recipe_takes_is_said_as_what_is_used(grams):
    butter = build.item("butter", on_hand_base=0)
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    cake = build.cake(lines=[(butter, 1)])
    for quantity in grams:
        build.planned_cake(cake, due_on=SATURDAY, quantity=quantity)
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    [row] = planned.plan.shortfalls

    chain = lack_chain(PageWords(planned, MONDAY), row)

    assert chain.takings[0].amount == chain.lines[0].amount == chain.comes_to.amount
    assert chain.rounding is None


def test_what_several_recipes_take_comes_to_what_is_used_as_said():
    # 1,318 g are 2 lb 14 1/2 oz, 722 g 1 lb 9 1/2 oz; their 2,040 g are 4 lb 8 oz
    butter = build.item("butter", on_hand_base=0)
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    for grams in (1_318, 722, 455, 460, 470):
        cake = build.cake(f"cake of {grams}", lines=[(butter, grams)])
        build.planned_cake(cake, due_on=SATURDAY)
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    [row] = planned.plan.shortfalls

    chain = lack_chain(PageWords(planned, MONDAY), row)

    def said(line):
        sign = -1 if line.less else 1
        return sign * planned.words.said_base(row.node, line.amount.words)

    parts = sum(
        planned.words.said_base(row.node, each.amount.words) for each in chain.takings
    )
    rounding = said(chain.rounding) if chain.rounding else 0
    assert parts + rounding == said(chain.lines[0])


def test_a_page_shows_the_rounding(signed_in):
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    build.planned_cake(build.cake(lines=[(butter, 1_500)]), due_on=SATURDAY)

    markup = unescape(signed_in.get(f"/ahead/{butter.pk}/").content.decode())

    assert '<th scope="row">Rounding</th>' in markup


@pytest.mark.parametrize(
    ("text", "base"),
    [
        ("none", 0),
        ("about 2 lb", 32 * OUNCE),
        ("minus 3 lb", -48 * OUNCE),
        (
            "1\N{NO-BREAK SPACE}case +\N{NO-BREAK SPACE}2\N{NO-BREAK SPACE}lb",
            608 * OUNCE,
        ),
    ],
)
def test_what_words_come_to_as_they_stand(text, base):
    butter = build.item("butter")
    build.pack(butter, holds="36 lb", size_base=16_329.3253, called="case")
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    words = AmountWords(planned.kitchen.nodes)

    assert words.said_base(planned.node_by_id[butter.pk], text) == base


def test_thousands_are_read_back_too():
    flour = build.item("flour")
    build.pack(flour, holds="50 lb", size_base=22_679.6185, called="sack")
    planned = make_plan(bakery=build.bakery(time_zone="UTC"), as_of=NOON)
    node = planned.node_by_id[flour.pk]

    said = planned.words.content(node, 5_000_000)

    assert planned.words.said_base(node, said) == pytest.approx(5_000_000, rel=0.01)
