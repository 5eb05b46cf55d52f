from planning.engine.demand.explosion import explode
from planning.engine.demand.pegging import shares
from tests.engine.small_kitchen import SmallKitchen, day, window


def shared(small, item, *days):
    """Return what each cake takes of an item, by taker and reference."""
    kitchen = small.build()
    names = kitchen.nodes.names
    explosion = explode(kitchen, window())
    found = shares(explosion, small.index(item), days)
    return {
        (names[row.taker], row.reference): round(row.takes_base, 6) for row in found
    }


def layers():
    """A pound cake and a torte of layers, half of which are butter."""
    small = SmallKitchen().item("butter")
    small.recipe("layers", {"butter": 500.0}, yields=1000.0)
    small.cake("torte", {"layers": 400.0, "butter": 50.0})
    return small.cake("pound cake", {"layers": 1200.0})


def test_a_day_is_shared_among_its_cakes():
    small = layers().plan("T", "torte", day(1), 2).plan("P", "pound cake", day(1))

    # layers: 800 for T and 1,200 for P, of half their weight of butter
    assert shared(small, "butter", day(1)) == {
        ("layers", "P"): 600,
        ("layers", "T"): 400,
        ("torte", "T"): 100,
    }


def test_several_days_are_added_up():
    small = layers().plan("T", "torte", day(1)).plan("U", "torte", day(2))

    assert shared(small, "butter", day(1), day(2), day(3)) == {
        ("layers", "T"): 200,
        ("layers", "U"): 200,
        ("torte", "T"): 50,
        ("torte", "U"): 50,
    }


def test_what_a_batch_leaves_over_belongs_to_those_it_is_made_for():
    small = SmallKitchen().item("butter")
    small.recipe("curd", {"butter": 300.0}, yields=1000.0, batch_step=1.0)
    small.cake("small", {"curd": 100.0}).cake("large", {"curd": 300.0})
    small.plan("S", "small", day(1)).plan("L", "large", day(1))

    # One batch for 400 g of curd: a quarter of its 300 g of butter is for S.
    assert shared(small, "butter", day(1)) == {("curd", "S"): 75, ("curd", "L"): 225}


def test_what_lies_ready_takes_nothing():
    small = SmallKitchen().item("flour")
    small.recipe("sponge", {"flour": 500.0}, yields=1000.0, lead_days=2)
    small.cake("cake", {"sponge": 400.0})
    small.plan("A", "cake", day(1)).plan("B", "cake", day(2)).plan("C", "cake", day(2))
    small.stock("sponge", 600.0)

    # All three are made today. A's 400 g and 200 of the other 800 lie ready.
    assert shared(small, "flour", day(0)) == {
        ("sponge", "B"): 150,
        ("sponge", "C"): 150,
    }


def test_what_stands_between_is_named():
    small = SmallKitchen().item("nuts")
    small.recipe("praline", {"nuts": 500.0}, yields=1000.0, lead_days=1)
    small.recipe("cream", {"praline": 100.0}, yields=1000.0)
    small.cake("torte", {"cream": 500.0, "praline": 50.0})
    small.plan("T", "torte", day(3))
    kitchen = small.build()

    [share] = shares(explode(kitchen, window()), small.index("nuts"), [day(2)])

    # half of 50 g for the cream and of 50 g for the torte itself
    assert share.takes_base == 50
    assert share.taker == small.index("praline")
    assert share.between == (small.index("cream"),)


def test_white_and_yolk_share_the_same_eggs():
    small = SmallKitchen().item("egg", "each")
    small.part("white", whole="egg", yields=30.0)
    small.part("yolk", whole="egg", yields=20.0)
    small.cake("meringue", {"white": 300.0}).cake("tart", {"yolk": 100.0})
    small.cake("sponge", {"egg": 4.0})
    for reference, cake in (("M", "meringue"), ("T", "tart"), ("S", "sponge")):
        small.plan(reference, cake, day(1))

    # 10 eggs give all the whites and also the 5 yolks, besides 4 whole ones: 14.
    assert shared(small, "egg", day(1)) == {
        ("white", "M"): 6.666667,
        ("sponge", "S"): 4,
        ("yolk", "T"): 3.333333,
    }


def test_a_day_without_use_has_no_shares():
    small = layers().plan("T", "torte", day(1))

    assert shared(small, "butter", day(0), day(900)) == {}
