from functools import partial

import pytest
from django.db import IntegrityError, connection, transaction

from stock.items.items import keep_items, retire_item
from stock.items.substitutes import (
    keep_substitutes,
    remove_substitute,
    substitute_entries,
)
from stock.models import Substitute
from tests import build, faults

pytestmark = pytest.mark.django_db

# A cup holds 240 g of the one and 245 g of the other: our own figures.
SOUR = {
    "item": "buttermilk",
    "substitute": "sour cream",
    "ratio": "1/2 cup for 1 cup",
    "source": "our own trials",
    "note": "thin it with milk",
}


@pytest.fixture(autouse=True)
def dairy():
    """Two that are poured and spooned, and what cannot be replaced or replace."""
    build.item("buttermilk", equivalents="1 cup = 240 g")
    build.item("sour cream", equivalents="1 cup = 250 g", own_units="tub = 2 kg")
    build.item("board", measure="count", kind="packaging")
    build.part("egg white", whole=build.item("eggs", measure="count"), yields_base=33)
    build.item("lard", retired=True)
    build.recipe("curd")
    build.cake("Torte")


faults_of = partial(faults.of, keep_substitutes)


def test_so_much_of_one_stands_for_so_much_of_the_other():
    kept = keep_substitutes([SOUR])

    assert kept.added == ("buttermilk, sour cream",)
    stored = Substitute.objects.get()
    assert (stored.item.name, stored.substitute.name) == ("buttermilk", "sour cream")
    assert (stored.quantity_base, stored.for_quantity_base) == (125, 240)
    assert substitute_entries() == [SOUR]


def test_the_same_again_changes_nothing():
    keep_substitutes([SOUR])

    assert keep_substitutes([SOUR | {"item": "BUTTERMILK"}]).unchanged == 1


def test_one_direction_says_nothing_of_the_other_and_both_may_be_kept():
    keep_substitutes([SOUR])
    assert Substitute.objects.filter(item__name="sour cream").count() == 0

    back = {"item": "sour cream", "substitute": "buttermilk"}
    keep_substitutes([SOUR | back])

    assert Substitute.objects.count() == 2


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("item", "butermilk", "Did you mean buttermilk?"),
        ("item", "Torte", "Torte: made here. Substitutes are for what is bought."),
        ("substitute", "curd", "Curd: made here."),
        ("substitute", "Torte", "Torte: made here."),
        ("substitute", "egg white", "Write what it is taken from: eggs."),
        ("substitute", "Buttermilk", "Nothing stands in for itself"),
        ("substitute", "board", "board cannot stand in for buttermilk."),
        ("substitute", "", "must not stay blank"),
        ("ratio", "1 blob for 1 cup", '"blob" isn\'t a unit of sour cream'),
        ("ratio", "1 each for 1 cup", "nothing says what 1 each of it comes to"),
        ("ratio", "0 g for 1 cup", "Write more than nothing"),
        ("ratio", "1 cup for 1 tub", '"tub" isn\'t a unit of buttermilk'),
        ("ratio", "1 cup for 1", "1 has no unit"),
        ("ratio", "1 cup for 0 cup", "Write more than nothing"),
        ("ratio", "1/2 cup", "3/4 cup for 1 cup"),
        ("ratio", "1 cup for 1 cup for 1 cup", "isn't a ratio"),
        ("note", "x" * 201, "at most 200"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(column, value, words):
    found = faults_of([SOUR | {column: value}])

    assert list(found) == [(1, column)]
    assert words in found[1, column]
    assert not Substitute.objects.exists()


def test_without_a_ratio_it_is_a_name_and_a_note():
    keep_substitutes([SOUR])

    keep_substitutes([SOUR | {"ratio": ""}])

    stored = Substitute.objects.get()
    assert (stored.quantity_base, stored.for_quantity_base) == (None, None)
    assert substitute_entries() == [SOUR | {"ratio": ""}]


def test_spaces_around_the_for_do_not_matter():
    keep_substitutes([SOUR | {"ratio": " 1/2 cup   for  1 cup"}])

    assert substitute_entries() == [SOUR]


def test_what_stands_in_already_is_not_added_again():
    keep_substitutes([SOUR])

    found = faults_of([SOUR], ids=[None])

    assert "already exists" in found[1, "substitute"]


def test_a_page_changes_the_amounts_of_what_is_stored():
    keep_substitutes([SOUR])

    wanted = "1 cup for 1 cup"

    kept = keep_substitutes([{"ratio": wanted}], ids=[Substitute.objects.get().pk])

    assert [change.after for change in kept.changed] == [wanted]
    stored = Substitute.objects.get()
    assert (stored.quantity_base, stored.for_quantity_base) == (250, 240)


def test_what_is_retired_later_stays_and_its_note_can_still_change():
    keep_substitutes([SOUR])
    retire_item(Substitute.objects.get().substitute_id)

    keep_substitutes([{"note": "none left"}], ids=[Substitute.objects.get().pk])

    assert Substitute.objects.get().note == "none left"


def test_what_is_retired_may_be_noted_as_a_kitchen_comes_in_again():
    keep_substitutes([SOUR | {"substitute": "lard", "ratio": "1 lb for 1 lb"}])

    assert Substitute.objects.get().substitute.name == "lard"


def test_amounts_are_worked_out_again_with_the_units_of_either():
    keep_substitutes([SOUR])

    keep_items(
        [
            {"item": "buttermilk", "equivalents": "1 cup = 200 g"},
            {"item": "sour cream", "equivalents": "1 cup = 220 g"},
        ]
    )

    stored = Substitute.objects.get()
    assert (stored.quantity_base, stored.for_quantity_base) == (110, 200)


def test_a_unit_that_a_substitute_is_typed_in_cannot_be_taken_away():
    keep_substitutes([SOUR])

    found = faults.of(keep_items, [{"item": "sour cream", "equivalents": ""}])

    assert found[1, "equivalents"].startswith(
        "1 substitute measures sour cream in a way that would be lost: "
        "sour cream for buttermilk (1/2 cup)."
    )


def test_taken_away_it_is_gone_and_twice_is_the_same():
    keep_substitutes([SOUR])
    stored_id = Substitute.objects.get().pk

    remove_substitute(stored_id)
    remove_substitute(stored_id)

    assert not Substitute.objects.exists()


@pytest.mark.parametrize(
    ("rule", "terms"),
    [
        ("substitute_is_another_item", {"substitute": "buttermilk"}),
        ("substitute_amounts_above_zero", {"quantity_base": 0}),
    ],
)
def test_the_database_itself_refuses(rule, terms):
    keep_substitutes([SOUR])
    stored = Substitute.objects.get()
    if "substitute" in terms:
        terms = {"substitute": stored.item}

    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        Substitute.objects.update(**terms)

    if connection.vendor == "postgresql" or "CHECK" in str(refusal.value):
        assert rule in str(refusal.value)


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    # the transaction (2), whose turn it is, the items, what is stored, converters (2),
    # and what is new
    with django_assert_num_queries(8):
        keep_substitutes([SOUR])
    Substitute.objects.all().delete()
    back = {"item": "sour cream", "substitute": "buttermilk"}
    with django_assert_num_queries(8):
        keep_substitutes([SOUR, SOUR | back])
