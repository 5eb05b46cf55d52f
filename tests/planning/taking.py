"""A kitchen that is asked for one more torte."""

from datetime import timedelta

from django.core.management import call_command

from planning.plan.planner import make_plan
from planning.plan.telling import Telling
from planning.scenarios.promise import AskedCake, can_take
from planning.search.searching import as_chosen
from planning.sentences.words import day_words, moment_words
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON

TELL = Telling(day=day_words, moment=moment_words)


FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)


def torte_kitchen():
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
    asked = AskedCake(cake, size, due_on, quantity)
    return answered(asked).promise


def answered(asked):
    planned = make_plan(bakery=Bakery.objects.get(), as_of=NOON)
    return can_take(as_chosen(planned), asked)


def said(*arguments, capsys):
    call_command("can_take", *arguments, "--at", "2026-05-04T12:00")
    return capsys.readouterr().out
