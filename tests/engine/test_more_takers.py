import pytest

from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NO_NODE
from planning.engine.scenarios.one_more import OneMore, add_one_more, more_by_taker
from planning.engine.shelves.supplies import read_shelf
from tests.engine.small_kitchen import SmallKitchen, day, window


def more(small, item, cake, *, quantity=1.0, days=14):
    kitchen, of_days = small.build(), window(days)
    explosion = explode(kitchen, of_days)
    one_more = OneMore(small.index(cake), "", day(3), quantity)
    change = add_one_more(explosion, of_days, read_shelf(kitchen, of_days), one_more)
    found = more_by_taker(explosion, change, small.index(item))
    names = {NO_NODE: "parts", **dict(enumerate(kitchen.nodes.names))}
    return {names[taker]: pytest.approx(base) for taker, base in found.items()}


def test_what_a_cake_takes_is_told_by_recipe_the_most_first():
    small = SmallKitchen().item("butter")
    small.recipe("icing", {"butter": 500.0}, yields=1000.0)
    small.cake("torte", {"icing": 600.0, "butter": 40.0}, lead_days=1)
    small.plan("T", "torte", day(2))

    found = more(small, "butter", "torte", quantity=2.0)

    assert list(found) == ["icing", "torte"]
    assert found == {"icing": 600, "torte": 80}


def test_a_batch_that_is_made_anyway_takes_no_more():
    small = SmallKitchen().item("butter")
    small.recipe("curd", {"butter": 300.0}, yields=1000.0, batch_step=1.0)
    small.cake("cake", {"curd": 400.0, "butter": 10.0})
    small.plan("T", "cake", day(3))

    assert more(small, "butter", "cake") == {"cake": 10}
    assert more(small, "butter", "cake", quantity=2.0) == {"curd": 300, "cake": 20}


def test_what_goes_into_parts_stands_by_itself():
    small = SmallKitchen().item("egg", "each")
    small.part("white", whole="egg", yields=30.0)
    small.cake("meringue", {"white": 300.0, "egg": 2.0})

    assert more(small, "egg", "meringue") == {"parts": 10, "meringue": 2}
