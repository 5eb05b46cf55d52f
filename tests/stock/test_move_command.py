"""`manage.py move`: one line in, one line out."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from stock.ledger import levels
from stock.ledger.verifying import verify_ledger
from stock.models import Move
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


@pytest.fixture(autouse=True)
def freezer():
    return build.place("freezer")


def move(*words, to="freezer", **options):
    out = StringIO()
    call_command("move", *words, to_place=to, stdout=out, **options)
    assert verify_ledger().is_whole
    return out.getvalue()


def lots(item, place):
    return {lot.code: lot.amount_base for lot in levels.lots_on_hand(place=place)}


def test_one_line_says_what_was_moved_and_what_is_left(butter, freezer):
    said = move("butter", "6 kg", by=build.user("ben").username)

    assert said == "6 kg of Butter moved from walk-in to freezer; 14 kg left there.\n"
    assert lots(butter, freezer) == {"A": 5_000, "B": 1_000}
    assert Move.objects.get().by.username == "ben"


def test_a_lot_can_be_named(butter, freezer):
    move("butter", "1 kg", lot="b", from_place="Walk-in", to="FREEZER")

    assert lots(butter, freezer) == {"B": 1_000}


def test_the_same_key_moves_once(butter, freezer):
    for _ in range(2):
        move("butter", "2 kg", key="till 7")

    assert on_hand_base_by_item(place=freezer) == {butter.pk: 2_000}


def test_one_of_several_places_is_never_guessed(butter):
    rack = build.place("rack")
    build.stock(butter, 100, place=rack)

    with pytest.raises(CommandError, match=r"stands in walk-in, rack\. Say which: --f"):
        move("butter", "1 kg")

    said = move("butter", "100 g", from_place="rack")
    assert said == "100 g of Butter moved from rack to freezer; none left there.\n"


def test_where_it_goes_is_not_where_it_comes_from(butter, freezer):
    move("butter", "2 kg")

    assert "from freezer to walk-in" in move("butter", "2 kg", to="walk-in")


@pytest.mark.parametrize(
    ("words", "options", "sentence"),
    [
        (("buter", "1 kg"), {}, 'There is no item "buter". Did you mean Butter?'),
        (("butter", "none"), {}, "enter how much is moved, more than nothing"),
        (("butter", ""), {}, "enter how much is moved, more than nothing"),
        (("butter", "12"), {}, '"12"'),
        (("butter", "-1 kg"), {}, "it cannot be negative"),
        (("butter", "2 crates"), {}, '"crates" isn\'t a unit of Butter.'),
        (("butter", "21 kg"), {}, "20 kg on record in walk-in, less than 21 kg"),
        (("butter", "1 kg"), {"to": "garage"}, 'There is no place "garage".'),
        (("butter", "1 kg"), {"to": "walk-in"}, "Butter is in walk-in already."),
        (("butter", "1 kg"), {"from_place": "x"}, 'There is no place "x".'),
        (("butter", "1 kg"), {"lot": "Z"}, 'no lot of Butter in walk-in "Z"'),
        (("butter", "1 kg"), {"by": "nobody"}, 'There is no person "nobody".'),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_nothing_moves(
    butter, words, options, sentence
):
    with pytest.raises(CommandError) as refused:
        move(*words, **options)

    assert sentence in str(refused.value)
    assert "\n" not in str(refused.value)
    assert not Move.objects.exists()
