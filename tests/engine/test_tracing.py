from planning.engine.demand.explosion import explode
from tests.engine.small_kitchen import SmallKitchen, day, window


def kitchen():
    """Cakes of sponge (made the day before, of flour) and cream with flour in it."""
    small = SmallKitchen().item("flour").item("board", "each")
    small.recipe("sponge", {"flour": 500.0}, yields=1000.0, lead_days=1)
    small.recipe("cream", {"flour": 20.0}, yields=100.0)
    small.cake("sponge cake", {"sponge": 400.0, "board": 1.0})
    return small.cake("cream cake", {"cream": 300.0, "board": 1.0})


def exploded(small):
    return explode(small.build(), window())


def test_cakes_are_found_through_any_level_on_the_day_of_need():
    small = kitchen()
    small.plan("S2", "sponge cake", day(2)).plan("S3", "sponge cake", day(3))
    small.plan("C2", "cream cake", day(2))

    explosion = exploded(small)

    flour = small.index("flour")
    assert explosion.cakes_behind(flour, [day(1)]) == ("S2",)
    assert explosion.cakes_behind(flour, [day(2)]) == ("C2", "S3")
    assert explosion.cakes_behind(flour, [day(1), day(2)]) == ("C2", "S2", "S3")
    assert explosion.cakes_behind(flour, [day(3)]) == ()
    assert explosion.cakes_behind(flour, [day(-9), day(900)]) == ()
    assert explosion.cakes_behind(small.index("sponge"), [day(1)]) == ("S2",)
    assert explosion.cakes_behind(small.index("sponge cake"), [day(2)]) == ("S2",)


def test_a_cake_served_by_made_stock_stands_behind_nothing():
    small = kitchen()
    small.plan("S2", "sponge cake", day(2)).plan("S3", "sponge cake", day(3))
    small.stock("sponge", 500.0, use_by=day(9))

    explosion = exploded(small)

    # Stock serves all of S2 and 100 g of S3, which still needs the other 300.
    assert explosion.cakes_behind(small.index("flour"), [day(1)]) == ()
    assert explosion.cakes_behind(small.index("flour"), [day(2)]) == ("S3",)


def test_a_cake_served_by_the_surplus_of_another_stands_behind_nothing():
    small = SmallKitchen().item("butter")
    small.recipe("curd", {"butter": 300.0}, yields=1000.0, batch_step=1.0)
    small.cake("cake", {"curd": 400.0})
    small.plan("first", "cake", day(1)).plan("second", "cake", day(2))

    explosion = exploded(small)

    assert explosion.cakes_behind(small.index("butter"), [day(1), day(2)]) == ("first",)


def test_cakes_are_found_through_the_parts_of_a_whole():
    small = SmallKitchen().item("egg", "each")
    small.part("white", whole="egg", yields=30.0)
    small.part("yolk", whole="egg", yields=20.0)
    small.cake("meringue", {"white": 300.0}).cake("tart", {"yolk": 100.0})
    small.cake("sponge", {"egg": 4.0})
    small.plan("M", "meringue", day(1)).plan("T", "tart", day(1))
    small.plan("S", "sponge", day(1)).plan("later", "tart", day(2))
    small.stock("yolk", 100.0, use_by=day(1))

    explosion = exploded(small)

    assert explosion.cakes_behind(small.index("egg"), [day(1)]) == ("M", "S")
    assert explosion.cakes_behind(small.index("egg"), [day(2)]) == ("later",)


def test_reasons_lead_from_an_item_up_to_the_cakes():
    small = kitchen()
    small.plan("S3", "sponge cake", day(3), 2).plan("C2", "cream cake", day(2))

    reasons = exploded(small).reasons(small.index("flour"), day(2))

    steps = {
        (small_name(small, step.node), small_name(small, step.taker), step.reference): (
            step.takes_base,
            step.made_base,
            step.on,
        )
        for step in reasons
    }
    # Two sponge cakes: 800 g sponge made on day 2, 400 g flour.
    # One cream cake: 300 g cream made on day 2, 60 g flour.
    assert steps == {
        ("flour", "sponge", ""): (400.0, 800.0, day(2)),
        ("flour", "cream", ""): (60.0, 300.0, day(2)),
        ("sponge", "sponge cake", "S3"): (800.0, 2.0, day(3)),
        ("cream", "cream cake", "C2"): (300.0, 1.0, day(2)),
    }
    assert [step.node for step in reasons[:2]] == [small.index("flour")] * 2


def test_reasons_name_each_order_of_a_cake_apart():
    small = kitchen()
    small.plan("A", "sponge cake", day(3), 2).plan("B", "sponge cake", day(3), 1)

    explosion = exploded(small)

    boards = explosion.reasons(small.index("board"), day(3))
    assert {step.reference: step.takes_base for step in boards} == {"A": 2.0, "B": 1.0}
    cakes = explosion.reasons(small.index("sponge cake"), day(3))
    assert {step.reference: step.takes_base for step in cakes} == {"A": 2.0, "B": 1.0}


def test_reasons_go_through_parts():
    small = SmallKitchen().item("egg", "each")
    small.part("yolk", whole="egg", yields=20.0)
    small.cake("tart", {"yolk": 100.0}).plan("T", "tart", day(1))

    through_part, through_cake = exploded(small).reasons(small.index("egg"), day(1))

    assert (through_part.taker, through_part.takes_base) == (small.index("yolk"), 5.0)
    assert (through_cake.reference, through_cake.takes_base) == ("T", 100.0)


def test_no_reasons_on_a_day_without_need():
    small = kitchen().plan("A", "sponge cake", day(3))

    assert exploded(small).reasons(small.index("flour"), day(1)) == ()
    assert exploded(small).reasons(small.index("flour"), day(99)) == ()


def small_name(small, node):
    return list(small.nodes)[node]
