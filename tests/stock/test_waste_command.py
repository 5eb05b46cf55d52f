"""`manage.py waste`: one line in, one line out."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from stock.ledger import levels
from stock.ledger.verifying import verify_ledger
from stock.models import Waste
from tests import build
from tests.build import MONDAY
from tests.on_hand import on_hand_base_by_item

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def butter(shelf):
    """20 kg in the walk-in, of two lots."""
    item = build.item("Butter", place=shelf)
    build.stock(item, 5_000, lot="A", use_by=MONDAY)
    build.stock(item, 15_000, lot="B")
    return item


def waste(*words, **options):
    out = StringIO()
    call_command("waste", *words, stdout=out, **options)
    assert verify_ledger().is_whole
    return out.getvalue()


def test_one_line_says_what_was_wasted_and_what_is_left(butter):
    said = waste("butter", "2 kg", reason="spoiled")

    assert said == "2 kg of Butter wasted, spoiled, from walk-in; 18 kg left there.\n"
    assert Waste.objects.get().reason == "spoiled"


def test_counted_things_say_their_noun(shelf):
    eggs = build.item("eggs", measure="count", place=shelf, on_hand_base=60)

    said = waste("eggs", "3", reason="dropped", by=build.user("ben").username)

    assert said == ("3 eggs wasted, dropped, from walk-in; 57 eggs left there.\n")
    assert Waste.objects.get().by.username == "ben"
    assert on_hand_base_by_item() == {eggs.pk: 57}


def test_a_noun_that_is_not_the_whole_name_does_not_hide_which(shelf):
    build.item("10 in board", measure="count", place=shelf, on_hand_base=9)

    said = waste("10 in board", "3", reason="dropped")

    assert said.startswith("3 boards (10 in board) wasted, dropped, from walk-in; 6")


def test_a_lot_can_be_named(butter):
    waste("butter", "1 kg", reason="tasting", lot="b")

    left = {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=butter)}
    assert left == {"A": 5_000, "B": 14_000}


def test_the_same_key_wastes_once(butter):
    for _ in range(2):
        waste("butter", "2 kg", reason="staff", key="till 7")

    assert on_hand_base_by_item() == {butter.pk: 18_000}


def test_more_than_on_record_has_to_be_said(butter):
    with pytest.raises(CommandError, match="20 kg on record in walk-in, less than"):
        waste("butter", "21 kg", reason="spoiled")

    said = waste("butter", "21 kg", reason="spoiled", beyond_record=True)

    assert said.endswith("; the record there is 1 kg below zero until it is counted.\n")


def test_one_of_several_places_is_never_guessed(butter):
    build.stock(butter, 100, place=build.place("freezer"))

    with pytest.raises(CommandError, match=r"stands in walk-in, freezer\. Say which"):
        waste("butter", "1 kg", reason="spoiled")

    assert "from freezer" in waste("butter", "50 g", reason="spoiled", place="Freezer")


@pytest.mark.parametrize(
    ("words", "options", "sentence"),
    [
        (("buter", "1 kg"), {}, 'There is no item "buter". Did you mean Butter?'),
        (("butter", "none"), {}, "enter how much is wasted, more than nothing"),
        (("butter", ""), {}, "enter how much is wasted, more than nothing"),
        (("butter", "12"), {}, '"12"'),
        (("butter", "-1 kg"), {}, "it cannot be negative"),
        (("butter", "2 crates"), {}, '"crates" isn\'t a unit of Butter.'),
        (("butter", "9" * 400), {}, ""),
        (("butter", "1 kg"), {"reason": "stolen"}, '"stolen" isn\'t a reason.'),
        (("butter", "1 kg"), {"place": "garage"}, 'There is no place "garage".'),
        (("butter", "1 kg"), {"lot": "Z"}, 'no lot of Butter in walk-in "Z"'),
        (("butter", "1 kg"), {"by": "nobody"}, 'There is no person "nobody".'),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_nothing_moves(
    butter, words, options, sentence
):
    with pytest.raises(CommandError) as refused:
        waste(*words, **({"reason": "spoiled"} | options))

    assert sentence in str(refused.value)
    assert "\n" not in str(refused.value)
    assert on_hand_base_by_item() == {butter.pk: 20_000}
