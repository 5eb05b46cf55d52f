"""`manage.py receive`: one line out for what came of an order."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests import build
from tests.planning.deliveries import lots, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(mill, flour):
    flour.code, flour.item.place = "00-7", build.place("rack")
    flour.save()
    flour.item.save()
    sugar = build.item("sugar", place=flour.item.place)
    packs = [(flour, 3), (build.pack(sugar, mill, called="sack"), 2)]
    return build.order(mill, reference="2026-004", lines=packs)


def receive(*arguments):
    out = StringIO()
    call_command("receive", *arguments, stdout=out)
    said = out.getvalue().replace("\N{MULTIPLICATION SIGN}", "x")
    return said.splitlines()


def test_all_of_an_order_is_received_in_one_line(order):
    said = receive("2026-004", "--all")

    assert said == ["2026-004: 3 x 1 kg bag of flour and 2 sacks of sugar received."]
    assert state(order) == "received"


def test_lines_are_named_by_code_or_by_item(order):
    said = receive("2026-004", "--line", "00-7=1", "--line", "Sugar=2")

    assert said == [
        "2026-004: 1 x 1 kg bag of flour and 2 sacks of sugar received. "
        "Still to come: 2 x 1 kg bag of flour."
    ]


def test_all_but_one_line_as_ordered_and_the_rest_of_it_closed(order):
    said = receive("2026-004", "--all", "--line", "sugar=1", "--close")

    assert "Closed: 1 sack of sugar." in said[0]
    assert state(order) == "closed"


def test_the_same_key_again_says_the_same(order):
    first = receive("2026-004", "--all", "--key", "van 7")

    again = receive("2026-004", "--all", "--key", "van 7")

    assert again == first
    assert [lot[3] for lot in lots()] == [3_000, 2_000]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["2026-005", "--all"], "There is no order .2026-005"),
        (["2026-004"], "Say what came: --all, or --line"),
        (["2026-004", "--line", "salt=1"], "There is no line .salt"),
        (["2026-004", "--line", "sugar"], "write it like 00-7=2"),
        (["2026-004", "--line", "sugar=-1"], "It must be 0 or more"),
        (["2026-004", "--line", "sugar=20"], "With --confirm what was asked about"),
        (["2026-004", "--all", "--on", "2026-06-31"], "2026-06-31"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(order, arguments, sentence):
    with pytest.raises(CommandError, match=sentence):
        receive(*arguments)

    assert lots() == []
