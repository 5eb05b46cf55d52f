"""Two save the same row at the same moment: one wins, and the other is told."""

import pytest

from planning.bakeplan.planned_cakes import keep_planned_cakes, set_status
from planning.interchange.kitchens import SheetRows, keep_kitchen
from planning.models import PlannedCake, RecipeLine
from planning.recipes.recipe_lines import keep_recipe_lines, remove_recipe_line
from stock.bakery import keep_settings, setting_rows
from stock.items.items import keep_items, retire_item
from stock.models import Bakery, Item
from stock.saving.versions import ChangedSinceError, RemovedSinceError, Seen
from tests import build

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = 10


def told(at_once, *jobs):
    """Run jobs together; return how many of them were refused as too late."""
    refused = []

    def run(job):
        def try_it(_):
            try:
                job()
            except ChangedSinceError as error:
                refused.append(error)

        return try_it

    at_once(*map(run, jobs), times=1)
    return refused


@pytest.mark.parametrize("has_settings", [True, False])
def test_of_two_saves_of_one_item_one_wins_and_the_other_is_told(at_once, has_settings):
    # Without settings there is no row of the bakery that the two could wait for.
    if has_settings:
        build.bakery()
    flour = build.item("flour")

    for number in range(1, ROUNDS + 1):
        seen = Seen(flour.pk, number)

        def save(days, seen=seen):
            return lambda: keep_items([{"keeps_days": days}], ids=[seen])

        refused = told(at_once, save(f"{number}1"), save(f"{number}2"))

        [error] = refused
        flour.refresh_from_db()
        assert flour.version == error.version == number + 1
        assert error.theirs["keeps_days"] == flour.keeps_days


def test_of_a_save_and_a_retirement_at_once_one_wins(at_once):
    flour = build.item("flour")

    for number in range(1, ROUNDS + 1):
        refused = told(
            at_once,
            lambda n=number: keep_items(
                [{"keeps_days": str(n)}], ids=[Seen(flour.pk, n)]
            ),
            lambda n=number: retire_item(flour.pk, seen=n),
        )

        assert len(refused) == 1
        Item.objects.update(retired=False)
        assert Item.objects.get().version == number + 1


def test_of_a_save_and_a_cancellation_at_once_one_wins(at_once):
    planned = build.planned_cake(reference="2201")

    for number in range(1, ROUNDS + 1):
        wanted = "tentative" if number % 2 else "confirmed"
        refused = told(
            at_once,
            lambda n=number: keep_planned_cakes(
                [{"quantity": str(n + 1)}], ids=[Seen(planned.pk, n)]
            ),
            lambda n=number, to=wanted: set_status(planned.pk, to, seen=n),
        )

        if len(refused) == 0:  # the status was so already: nothing to do
            assert PlannedCake.objects.get().status == wanted
        assert PlannedCake.objects.get().version == number + 1


def test_of_a_save_and_a_removal_of_a_line_at_once_none_is_lost_unseen(at_once):
    sugar = build.item("sugar")
    curd = build.recipe("curd")
    for _ in range(ROUNDS):
        line = build.recipe_line(curd, sugar, 100)
        gone = []

        def save(line=line, gone=gone):
            try:
                keep_recipe_lines([{"quantity": "120 g"}], ids=[Seen(line.pk, 1)])
            except RemovedSinceError as error:
                gone.append(error)

        refused = told(
            at_once, save, lambda line=line: remove_recipe_line(line.pk, seen=1)
        )

        stays = RecipeLine.objects.filter(pk=line.pk).exists()
        assert len(refused) + len(gone) == 1
        assert stays == bool(refused)
        RecipeLine.objects.all().delete()


def test_of_two_saves_of_the_settings_one_wins(at_once):
    def save(days, seen):
        rows = setting_rows({"horizon_days": days})
        return lambda: keep_settings(rows, seen=seen)

    for number in range(1, ROUNDS + 1):
        [error] = told(at_once, save(f"{number}1", number), save(f"{number}2", number))

        bakery = Bakery.objects.get()
        assert bakery.version == error.version == number + 1
        assert error.theirs["horizon_days"] == str(bakery.horizon_days)


def test_a_form_beside_an_import_never_writes_over_it_unseen(at_once):
    flour = build.item("flour")

    for number in range(1, ROUNDS + 1):
        days = f"{number}1"
        sheet = SheetRows([{"item": "flour", "measure": "mass", "keeps_days": days}])
        refused = told(
            at_once,
            lambda n=number: keep_items(
                [{"walk_order": str(n)}], ids=[Seen(flour.pk, 2 * n - 1)]
            ),
            lambda sheet=sheet: keep_kitchen({"Items": sheet}),
        )

        flour.refresh_from_db()
        assert flour.keeps_days == int(days)
        assert (flour.walk_order == number) != bool(refused)
        Item.objects.update(version=2 * number + 1)
