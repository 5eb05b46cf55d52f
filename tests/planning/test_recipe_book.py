import pytest

from planning.recipes.recipe_book import open_book
from stock.models import Item
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def kitchen():
    """A lemon cake three levels deep, with a yolk taken from eggs."""
    eggs = build.item("eggs", measure="count", allergens="Eggs")
    yolk = build.part("egg yolk", whole=eggs, yields_base=17)
    butter = build.item("butter", allergens="milk")
    chocolate = build.item("chocolate", allergens="milk; soy")
    sugar = build.item("sugar")
    box = build.item("box", measure="count", kind=Item.Kind.PACKAGING)
    curd = build.recipe("curd", yield_base=500, lines=[(yolk, 100), (sugar, 200)])
    frosting = build.recipe(
        "frosting", yield_base=1000, loss_percent=20, lines=[(curd, 250), (butter, 400)]
    )
    cake = build.cake("lemon cake", lines=[(frosting, 800), (curd, 100), (box, 1)])
    bar = build.cake("chocolate bar", lines=[(chocolate, 50)])
    return {
        row.name: row
        for row in (eggs, yolk, butter, sugar, box, curd.item, frosting.item)
    } | {"lemon cake": cake.item, "chocolate bar": bar.item}


def test_allergens_roll_up_through_levels_and_from_the_whole_of_a_part(kitchen):
    book = open_book()

    assert book.allergens(kitchen["lemon cake"].pk) == {
        "eggs": ["eggs"],
        "milk": ["butter"],
    }
    assert book.allergens(kitchen["chocolate bar"].pk) == {
        "milk": ["chocolate"],
        "soy": ["chocolate"],
    }


def test_ingredients_without_an_entered_allergen_are_named(kitchen):
    assert open_book().unlabelled(kitchen["lemon cake"].pk) == ["sugar"]


def test_one_cake_down_to_what_is_bought(kitchen):
    # 800 g of frosting are 1000 g mixed, one batch: 400 g butter and 250 g curd;
    # 350 g of curd are 0.7 batch: 70 g yolk, 140 g sugar
    book = open_book()

    bought = book.bought_for(kitchen["lemon cake"].pk)

    assert {book.named[pk].name: base for pk, base in bought.items()} == {
        "butter": pytest.approx(400),
        "egg yolk": pytest.approx(70),
        "sugar": pytest.approx(140),
        "box": pytest.approx(1),
    }


def test_what_brings_something_bought_is_told_apart(kitchen):
    cake, sugar = kitchen["lemon cake"], kitchen["sugar"]
    build.recipe_line(cake.recipe, sugar, 10)

    through = open_book().bought_through(cake.pk)[sugar.pk]

    # 250 g of curd in the frosting and 100 g in the cake, of two fifths of sugar
    assert through == {
        kitchen["frosting"].pk: pytest.approx(100),
        kitchen["curd"].pk: pytest.approx(40),
        sugar.pk: pytest.approx(10),
    }


def test_what_is_bought_counts_as_purchased():
    lemons = build.item("lemons")
    curd = build.recipe("curd")
    build.recipe_line(curd, lemons, 90, yield_percent=45)

    assert open_book().bought_for(curd.pk) == {lemons.pk: pytest.approx(200)}


@pytest.mark.parametrize(
    ("name", "cakes"),
    [
        ("sugar", [("lemon cake", ["curd", "frosting"])]),
        ("butter", [("lemon cake", ["frosting"])]),
        ("eggs", [("lemon cake", ["curd", "frosting"])]),
        ("egg yolk", [("lemon cake", ["curd", "frosting"])]),
        ("curd", [("lemon cake", [])]),  # by a line of the cake's own
        ("box", [("lemon cake", [])]),
        ("lemon cake", []),
    ],
)
def test_the_cakes_that_something_is_in(kitchen, name, cakes):
    book = open_book()

    uses = book.cakes_with(kitchen[name].pk)

    assert [
        (book.named[use.cake_id].name, [book.named[pk].name for pk in use.through_ids])
        for use in uses
    ] == cakes


def test_the_book_takes_two_queries(kitchen, django_assert_num_queries):
    with django_assert_num_queries(2):
        book = open_book()
        book.allergens(kitchen["lemon cake"].pk)
        book.cakes_with(kitchen["eggs"].pk)
        book.bought_for(kitchen["lemon cake"].pk)
