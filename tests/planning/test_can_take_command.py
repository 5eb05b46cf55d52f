"""Can we take it, as the command says it."""

import json

import pytest
from django.core.management import CommandError, call_command

from planning.engine.scenarios.promise import Cause, PromiseAnswer
from planning.management.commands.can_take import Command
from planning.scenarios.promise_json import ANSWERS, CAUSES
from tests.planning.taking import said, torte_kitchen

pytestmark = pytest.mark.django_db


@pytest.fixture
def kitchen():
    return torte_kitchen()


def test_the_command_says_yes_from_the_shelves(kitchen, capsys):
    lines = said("--cake", "Torte", "--on", "2026-05-08", capsys=capsys).splitlines()

    # 400 g at 9.99 a kilogram are 3.996
    assert lines == [
        "Yes, from the shelves: stock and open orders are enough.",
        "Ingredients: $4.00, at the best price of each.",
    ]


def test_the_command_says_what_to_order_by_when_and_whom_it_could_hurt(kitchen, capsys):
    lines = said(
        *("--cake", "Torte", "--on", "2026-05-09", "--quantity", "2"), capsys=capsys
    ).splitlines()

    assert lines == [
        "Yes, if ordered by Thu May 7, 2:00 pm from Dairy; 1 order is new.",
        "Ingredients: $7.99, at the best price of each.",
        "Dairy by Thu May 7, 2:00 pm, for Fri May 8:",
        "  1 \N{MULTIPLICATION SIGN} pack of 1000 g, butter",
        "Butter: 200 g short from Sat May 9; Torte, Sat May 9 (T-1), would lack it "
        "too.",
        "Not ordered, it would hurt Torte, Sat May 9 (T-1).",
    ]


def test_the_command_says_what_only_later_cakes_need(kitchen, capsys):
    lines = said(
        *("--cake", "Torte", "--on", "2026-05-08", "--quantity", "2"), capsys=capsys
    ).splitlines()

    # 800 of 1,000 on Friday; Saturday's T-1 lacks 200.
    assert lines[:2] == [
        "Yes, from the shelves: stock and open orders are enough for this cake, "
        "but not for later ones.",
        "So that Torte, Sat May 9 (T-1), does not go short later, order by Thu May 7, "
        "2:00 pm from Dairy; 1 order is new.",
    ]
    assert "  Not for this cake: for later ones." in lines


def test_the_command_says_no_and_why(kitchen, capsys):
    lines = said(
        *("--cake", "Torte", "--on", "2026-05-04", "--quantity", "3"), capsys=capsys
    ).splitlines()

    # today 1,200 of 1,000, and nothing comes today; 400 more for T-1 on Saturday
    assert lines[0] == (
        "No, because butter will be 600 g short from Mon May 4, and no delivery brings "
        "all of it in time."
    )
    assert lines[-1] == "It would hurt Torte, Sat May 9 (T-1)."


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
        "answer": "yes from the shelves",
        "sentence": "Yes, from the shelves: stock and open orders are enough for this "
        "cake, but not for later ones. So that Torte, Sat May 9 (T-1), does not go "
        "short later, order by "
        "Thu May 7, 2:00 pm from Dairy; 1 order is new.",
        "planned_to": "2026-05-17",
        "order_by": "2026-05-07T14:00:00+00:00",
        "supplier": "Dairy",
        "because": [],
        "orders": [
            {
                "supplier": "Dairy",
                "order_by": "2026-05-07T14:00:00+00:00",
                "deliver_on": "2026-05-08",
                "is_new": True,
                "for_later_cakes": True,
                "waiting": None,
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
                "filling_cost": "0.00",
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
        (("--cake", "Torte", "--on", "Friday"), "isn't a date"),
        (("--cake", "Torte", "--on", "2026-05-03"), "is over"),
        (("--cake", "Torte", "--on", "2026-05-08", "--quantity", "0"), "1 or more"),
        (("--cake", "Torte", "--on", "2026-05-08", "--size", "huge"), "isn't a size"),
        (("--cake", "Torte"), "required: --on"),
        (("--cake", " ", "--on", "2026-05-08"), "Say which cake"),
    ],
)
def test_the_command_refuses_in_one_sentence(kitchen, arguments, words):
    with pytest.raises(CommandError, match=words.replace("?", r"\?")) as refusal:
        call_command("can_take", *arguments, "--at", "2026-05-04T12:00")

    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("words", [*ANSWERS.values(), *CAUSES.values()])
def test_the_help_has_every_answer_and_every_cause(words):
    assert f'"{words}"' in Command().create_parser("", "can_take").epilog


def test_every_answer_and_every_cause_has_its_words_in_json():
    assert (set(ANSWERS), set(CAUSES)) == (set(PromiseAnswer), set(Cause))
