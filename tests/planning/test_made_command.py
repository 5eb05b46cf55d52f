"""`manage.py made`: one line in, one line out."""

import pytest
from django.core.management import CommandError, call_command

from planning.management.commands import made as command
from planning.models import Bake
from tests import build
from tests.build import MONDAY
from tests.planning.bakes import make, on_hand

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _bakery(clock):
    build.bakery(time_zone="UTC")


@pytest.fixture
def curd():
    rack = build.place("rack")
    sugar = build.item("sugar", on_hand_base=500, place=rack)
    return build.recipe("Curd", yield_base=500, keeps_days=3, lines=[(sugar, 200)])


def made(capsys, *arguments):
    call_command("made", *arguments)
    return capsys.readouterr().out


def test_it_says_what_was_made_in_one_line(curd, capsys):
    said = made(capsys, "curd", "--batches", "2")

    assert said == (
        "2 batches of Curd: made, use by Wed May 6, lot "
        f"M{Bake.objects.get().pk}, in rack.\n"
    )
    assert on_hand() == {"sugar": 100, "Curd": 1_000}


def test_without_batches_it_makes_those_of_the_plan(curd, capsys):
    build.planned_cake(build.cake(lines=[(curd, 750)]), due_on=MONDAY)

    said = made(capsys, "curd")

    assert said.startswith("1 1/2 batches of Curd: made")


def test_what_went_below_nothing_is_said(curd, capsys):
    said = made(capsys, "curd", "--batches", "5")

    assert said.endswith("Sugar: the record is 500 g below zero. Count it.\n")


def test_a_closed_day_is_said(curd, capsys):
    build.bakery(closed_days="Mon")

    assert "The bakery is closed on Mon May 4." in made(
        capsys, "curd", "--batches", "1"
    )


def test_the_same_key_makes_nothing_more(curd, capsys):
    for _ in range(2):
        made(capsys, "curd", "--batches", "1", "--key", "tap")

    assert Bake.objects.count() == 1


def test_the_same_key_makes_nothing_more_of_what_was_planned(curd, capsys):
    build.planned_cake(build.cake(lines=[(curd, 250)]), due_on=MONDAY)

    said = [made(capsys, "curd", "--key", "tap") for _ in range(2)]

    assert said[0] == said[1]
    assert said[0].startswith("1/2 batch of Curd: made")
    assert Bake.objects.count() == 1


def test_what_was_made_since_the_plan_was_read_is_asked_about(
    curd, capsys, monkeypatch
):
    build.planned_cake(build.cake(lines=[(curd, 500)]), due_on=MONDAY)
    read_plan = command.planned_batches

    def read_and_be_overtaken(*arguments, **options):
        planned = read_plan(*arguments, **options)
        make(curd)
        return planned

    monkeypatch.setattr(command, "planned_batches", read_and_be_overtaken)

    with pytest.raises(CommandError, match=r"marked it made already.*--confirm"):
        call_command("made", "curd")

    assert Bake.objects.count() == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["crud"], "Curd"),
        (["curd"], "none is planned"),
        (["curd", "--batches", "two"], "isn't a number of batches"),
        (["curd", "--batches", "0"], "enter batches above 0"),
        (["curd", "--batches", "10"], "With --confirm"),
        (["curd", "--batches", "1", "--on", "2026-05-05"], "still to come"),
    ],
)
def test_what_cannot_be_is_refused(curd, arguments, words):
    with pytest.raises(CommandError, match=words):
        call_command("made", *arguments)

    assert not Bake.objects.exists()
