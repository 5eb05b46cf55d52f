"""Can we take it? From the database, and as the command says it."""

import json
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from planning.engine.trying.promise import Answer
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    NoSuchCakeError,
    TakesRetiredError,
)
from planning.models import PlannedCake
from planning.taking import Asked, can_take
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)


@pytest.fixture
def kitchen():
    """1,000 g of butter; a torte takes 400. One is planned for Saturday.

    Dairy comes on Tuesday and Friday, ordered by 2 pm of the day before.
    """
    build.bakery(time_zone="UTC", currency="USD", horizon_days=14)
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000, price="9.99")
    torte = build.cake("Torte", lines=[(butter, 400)])
    build.planned_cake(torte, due_on=SATURDAY, reference="T-1")
    return torte


def answer(cake="Torte", due_on=FRIDAY, quantity=1.0, size=""):
    asked = Asked(cake, size, due_on, quantity)
    return can_take(asked, bakery=Bakery.objects.get(), as_of=NOON).promise


def said(*arguments, capsys):
    call_command("can_take", *arguments, "--at", "2026-05-04T12:00")
    return capsys.readouterr().out


def test_one_more_is_there_and_two_more_have_to_be_ordered(kitchen):
    # 1,000 - 400 for T-1: one more leaves 200, two more lack 200
    assert answer().answer is Answer.FROM_THE_SHELVES
    assert answer(quantity=2.0).answer is Answer.IF_ORDERED


def test_names_are_compared_without_case(kitchen):
    assert answer(cake=" torte ").answer is Answer.FROM_THE_SHELVES


def test_nothing_is_stored(kitchen):
    answer()

    assert PlannedCake.objects.count() == 1


@pytest.mark.parametrize(
    ("asked", "error"),
    [
        ({"cake": "Tort"}, NoSuchCakeError),
        ({"cake": "butter"}, NoSuchCakeError),
        ({"due_on": MONDAY - timedelta(days=1)}, DueInThePastError),
        ({"due_on": MONDAY + timedelta(days=366)}, DueTooFarAheadError),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(kitchen, asked, error):
    with pytest.raises(error):
        answer(**asked)


def test_a_cake_with_something_retired_in_it_gets_no_yes(kitchen):
    # Nobody watches what is retired, so whether there is enough of it is not known.
    paste = build.recipe("paste", lines=[(build.item("anise", retired=True), 5)])
    cake = build.cake("Anise cake", lines=[(paste, 100)])
    build.recipe_line(kitchen, build.item("rose", retired=True), 1)

    with pytest.raises(TakesRetiredError) as refusal:
        answer(cake=cake.item.name)

    assert str(refusal.value) == (
        "Anise cake takes anise. What is retired is not watched: take it out of its "
        "recipes, or bring it back on its page."
    )


def test_something_retired_that_a_cake_takes_no_more_of_is_no_matter(kitchen):
    # 1,000 g of the paste are there, and the cake takes 100.
    paste = build.recipe("paste", lines=[(build.item("anise", retired=True), 5)])
    build.stock(paste.item, 1_000)
    build.cake("Anise cake", lines=[(paste, 100)])

    assert answer(cake="Anise cake").answer is Answer.FROM_THE_SHELVES


def test_a_day_beyond_the_horizon_is_looked_at_too(kitchen):
    # 600 are left for it; two of them take 800
    late = answer(due_on=MONDAY + timedelta(days=40), quantity=2.0)

    assert late.answer is Answer.IF_ORDERED
    assert late.shorts[0].first_on == MONDAY + timedelta(days=40)


def test_it_reads_what_a_plan_reads(kitchen, django_assert_num_queries):
    bakery = Bakery.objects.get()
    with django_assert_num_queries(5):  # two more where amounts are said
        can_take(Asked("Torte", "", FRIDAY, 2.0), bakery=bakery, as_of=NOON)


def test_the_command_says_yes_from_the_shelves(kitchen, capsys):
    lines = said("--cake", "Torte", "--on", "2026-05-08", capsys=capsys).splitlines()

    # 400 g at 9.99 a kilogram are 3.996
    assert lines == [
        "Yes, from the shelves: stock and open orders are enough.",
        "Ingredients: $4.00, at the best price of each.",
    ]


def test_the_command_says_what_to_order_by_when_and_whom_it_could_hurt(kitchen, capsys):
    lines = said(
        *("--cake", "Torte", "--on", "2026-05-08", "--quantity", "2"), capsys=capsys
    ).splitlines()

    assert lines == [
        "Yes, if ordered by Thu May 7, 2:00 pm from Dairy; 1 line grows.",
        "Ingredients: $7.99, at the best price of each.",
        "Dairy by Thu May 7, 2:00 pm, for Fri May 8:",
        "  1 \N{MULTIPLICATION SIGN} pack of 1000 g, butter",
        "Butter: 200 g short from Sat May 9; T-1 would lack it too.",
        "Not ordered, it would hurt T-1.",
    ]


def test_the_command_says_no_and_why(kitchen, capsys):
    lines = said(
        *("--cake", "Torte", "--on", "2026-05-04", "--quantity", "3"), capsys=capsys
    ).splitlines()

    # today 1,200 of 1,000, and nothing comes today
    assert lines[0] == (
        "No, because butter will be 200 g short on Mon May 4, and no delivery comes in "
        "time."
    )
    assert lines[-1] == "It would hurt T-1."


def test_the_command_gives_everything_as_json(kitchen, capsys):
    words = said(
        *("--cake", "torte", "--on", "2026-05-08", "--quantity", "2", "--json"),
        capsys=capsys,
    )

    assert json.loads(words) == {
        "as_of": "2026-05-04T12:00:00+00:00",
        "cake": "Torte",
        "size": "",
        "date": "2026-05-08",
        "quantity": 2.0,
        "currency": "USD",
        "answer": "yes if ordered",
        "sentence": "Yes, if ordered by Thu May 7, 2:00 pm from Dairy; 1 line grows.",
        "order_by": "2026-05-07T14:00:00+00:00",
        "supplier": "Dairy",
        "because": [],
        "orders": [
            {
                "supplier": "Dairy",
                "order_by": "2026-05-07T14:00:00+00:00",
                "deliver_on": "2026-05-08",
                "is_new": True,
                "lines": [
                    {
                        "item": "butter",
                        "code": "",
                        "pack": "pack of 1000 g",
                        "packs": 0,
                        "more_packs": 1,
                        "more_cost": "9.99",
                    }
                ],
                "more_fee": "0.00",
                "more_cost": "9.99",
                "under_minimum": "0.00",
            }
        ],
        "ingredients_cost": "7.99",
        "without_price": [],
        "short": [
            {
                "item": "butter",
                "unit": "g",
                "first_date": "2026-05-09",
                "more_short": 200.0,
                "short_by": 200.0,
                "cakes": ["T-1"],
            }
        ],
        "below_safety": [],
        "hurts": ["T-1"],
    }


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--cake", "Tort", "--on", "2026-05-08"), "Did you mean Torte?"),
        (("--cake", "Torte", "--on", "Friday"), "is no date"),
        (("--cake", "Torte", "--on", "2026-05-03"), "is over"),
        (("--cake", "Torte", "--on", "2026-05-08", "--quantity", "0"), "1 or more"),
        (("--cake", "Torte", "--on", "2026-05-08", "--size", "huge"), "is no size"),
        (("--cake", "Torte"), "required: --on"),
    ],
)
def test_the_command_refuses_in_one_sentence(kitchen, arguments, words):
    with pytest.raises(CommandError, match=words.replace("?", r"\?")) as refusal:
        call_command("can_take", *arguments, "--at", "2026-05-04T12:00")

    assert "\n" not in str(refusal.value)
