from datetime import date, timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.utils import timezone

from stock.ledger import guard, ledger, levels, verifying
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.models import Balance, Movement
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts

pytestmark = pytest.mark.django_db

SECOND = timedelta(seconds=1)


@pytest.fixture
def flour():
    flour = build.item("bread flour", place=build.place("cellar"), on_hand_base=5_000)
    build.stock(flour, -1_000, kind=Movement.Kind.USED)
    build.stock(flour, 300, use_by=date(2026, 5, 8), lot="A7")
    return flour


def complaint():
    """Return what is written to stderr, and the last sentence."""
    stderr = StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("verify_ledger", stderr=stderr)
    assert refused.value.returncode == 2
    return f"{stderr.getvalue()}{refused.value}"


def test_a_whole_ledger_is_said_in_one_sentence(flour, capsys):
    call_command("verify_ledger")

    assert capsys.readouterr().out == (
        "The ledger is whole: 2 balances are the sums of 3 movements.\n"
    )


def test_an_empty_ledger_is_whole():
    assert verifying.verify_ledger() == verifying.Verdict(movements=0, balances=0)


def test_a_changed_balance_is_named_and_left_alone(flour):
    Balance.objects.filter(lot__code="A7").update(amount_base=Decimal("300.0001"))

    assert complaint().splitlines() == [
        (
            "bread flour in cellar, A7, use by 2026-05-08: the balance says 300.0001, "
            "the movements come to 300.0000."
        ),
        (
            "The ledger is not whole. "
            "To put it right: python manage.py verify_ledger --rebuild"
        ),
    ]

    assert Balance.objects.get(lot__code="A7").amount_base == Decimal("300.0001")


def test_a_balance_that_is_gone_is_found(flour):
    Balance.objects.filter(lot__code="").delete()

    assert (
        "bread flour in cellar, no lot: the balance says 0, the movements come to"
        in (complaint())
    )


def test_a_balance_without_movements_is_found(flour):
    Balance.objects.create(
        item=flour,
        place=build.place("attic"),
        lot_id=ledger.lot_for(item_id=flour.pk),
        amount_base=7,
    )

    assert "bread flour in attic, no lot: the balance says 7.0000" in complaint()


def test_a_balance_under_another_item_is_found(flour):
    Balance.objects.filter(lot__code="A7").update(item=build.item("sugar"))

    assert "sugar in cellar, A7" in complaint()
    assert "bread flour in cellar, A7" in complaint()


def test_movements_with_a_lot_of_another_item_are_counted(flour):
    sugar = build.item("sugar")
    strayed = {
        "item": sugar,
        "place": flour.place,
        "lot_id": ledger.lot_for(item_id=flour.pk),
    }
    Movement.objects.create(amount_base=5, kind="used", at=NOON, **strayed)

    told = complaint()
    assert "Movements that carry a lot of another item: 1.\n" in told
    assert told.endswith("Restore the database from a backup.")


def test_movements_of_something_that_is_not_there_are_counted(flour):
    nothing = 99_999
    with transaction.atomic():
        ledger_row = {"place": flour.place, "lot_id": nothing, "item_id": nothing}
        Movement.objects.create(amount_base=5, kind="used", at=NOON, **ledger_row)

        told = complaint()
        with pytest.raises(CommandError, match=r"not there: 1\. Restore") as refused:
            call_command("verify_ledger", "--rebuild")
        transaction.set_rollback(True)

    assert "an item that is not there (99999) in cellar" in told
    assert "Movements of an item, a place or a lot that is not there: 1.\n" in told
    assert told.endswith("Restore the database from a backup.")
    assert refused.value.returncode == 2


def test_wrong_balances_beside_missing_triggers_are_no_case_for_a_rebuild(flour):
    on_table = " ON stock_movement" if connection.vendor == "postgresql" else ""
    Balance.objects.filter(lot__code="A7").update(amount_base=1)
    connection.check_constraints()
    connection.cursor().execute(f"DROP TRIGGER stock_movement_no_update{on_table}")

    assert "Movements may have been changed" in complaint()


@pytest.mark.parametrize("missing", ["update", "delete"])
def test_a_missing_trigger_is_named_and_put_back(flour, missing, capsys):
    name = f"stock_movement_no_{missing}"
    on_table = " ON stock_movement" if connection.vendor == "postgresql" else ""
    connection.check_constraints()
    connection.cursor().execute(f"DROP TRIGGER {name}{on_table}")

    assert f"missing in the database: {name}." in complaint()

    call_command("verify_ledger", "--rebuild")
    assert "The ledger is whole" in capsys.readouterr().out


@pytest.mark.skipif(
    connection.vendor != "postgresql", reason="SQLite switches no trigger off"
)
def test_a_trigger_that_is_switched_off_is_missing(flour):
    name = "stock_movement_no_update"
    connection.check_constraints()
    connection.cursor().execute(f"ALTER TABLE stock_movement DISABLE TRIGGER {name}")

    assert guard.missing_triggers(connection) == [name]
    guard.install(connection)
    assert guard.missing_triggers(connection) == []


def test_rebuild_works_balances_out_from_the_movements(flour, capsys):
    Balance.objects.filter(lot__code="A7").update(amount_base=1)
    Balance.objects.filter(lot__code="").delete()

    call_command("verify_ledger", "--rebuild")

    assert capsys.readouterr().out == (
        "Balances worked out anew: 2.\n"
        "The ledger is whole: 2 balances are the sums of 3 movements.\n"
    )
    assert on_hand_base_by_item() == {flour.pk: Decimal(4_300)}
    assert Movement.objects.count() == 3


def test_rebuild_keeps_what_was_found_empty_by_hand(flour):
    sugar = build.item("sugar", place=flour.place)
    set_on_hand(OnHandRow(sugar.pk, flour.place.pk, 0))
    attic = build.place("attic")
    set_on_hand(OnHandRow(sugar.pk, attic.pk, 0))
    build.stock(sugar, 500, place=attic)  # it came, and is gone again
    build.stock(sugar, -500, place=attic, kind=Movement.Kind.USED)
    Balance.objects.filter(item=sugar).update(amount_base=3)

    verifying.rebuild()

    assert levels.on_hand_base_by_place(item=sugar) == {flour.place.pk: 0, attic.pk: 0}
    assert verifying.verify_ledger().is_whole


class TestFiguresThatAddUp:
    """Two people said 5 kg of an empty shelf; the later overlooked the earlier."""

    @pytest.fixture
    def sugar(self):
        sugar = build.item("sugar", place=build.place("shelf"))
        by_hand = {"kind": Movement.Kind.CORRECTED, "place": sugar.place}
        build.stock(sugar, 5_000, at=NOON + SECOND, **by_hand)
        build.stock(sugar, 5_000, at=NOON, **by_hand)
        return sugar

    def test_they_are_named(self, sugar):
        assert complaint().splitlines() == [
            "sugar in shelf was set twice, and the two may add up.",
            ("The sums are right, the figures may not be. Count these shelves again."),
        ]

    @pytest.mark.parametrize("first", ["imported", "corrected", "counted"])
    @pytest.mark.parametrize("second", ["imported", "corrected", "counted"])
    def test_whoever_of_hands_workbooks_and_counts_said_them(self, first, second):
        salt = build.item("salt", place=build.place())
        build.stock(salt, 500, at=NOON + SECOND, kind=first)
        build.stock(salt, 500, at=NOON, kind=second)

        [added_up] = verifying.verify_ledger().added_up
        assert added_up.item == "salt"

    def test_until_a_hand_says_anew_what_is_there(self, sugar):
        row = OnHandRow(sugar.pk, sugar.place_id, Decimal(4_000))
        set_on_hand(row)

        assert verifying.verify_ledger().added_up == ()

    def test_until_a_hand_says_just_what_is_on_record(self, sugar):
        (on_record,) = on_hand_base_by_item().values()
        assert set_on_hand(OnHandRow(sugar.pk, sugar.place_id, on_record)) is None

        assert verifying.verify_ledger().added_up == ()

    def test_until_a_count_finds_just_what_is_on_record(self, sugar):
        count = counts.opened(sugar.place, counted_at=NOON + 2 * SECOND)
        counts.enter(count, sugar, "10 kg")
        counts.posted(count, at=timezone.now() + timedelta(days=1))

        assert verifying.verify_ledger().added_up == ()

    def test_until_something_is_set_as_of_the_very_moment_overlooked(self, sugar):
        by_hand = {"kind": Movement.Kind.CORRECTED, "place": sugar.place}
        build.stock(sugar, -5_000, at=NOON + SECOND, **by_hand)

        assert verifying.verify_ledger().added_up == ()

    def test_a_count_that_was_posted_before_does_not_clear_them(self):
        now, day = timezone.now(), timedelta(days=1)
        salt = build.item("salt", place=build.place())
        by_hand = {"kind": Movement.Kind.CORRECTED, "place": salt.place}
        build.stock(salt, 5_000, at=now - 3 * day, **by_hand)
        count = counts.opened(salt.place, counted_at=now - 2 * day)
        counts.enter(count, salt, "5 kg")
        counts.posted(count, at=now - day)

        build.stock(salt, 5_000, at=now - 4 * day, **by_hand)

        [added_up] = verifying.verify_ledger().added_up
        assert added_up.item == "salt"

    def test_a_delivery_that_came_before_an_import_of_the_past_is_none(self):
        salt = build.item(place=build.place())
        build.stock(salt, 700, at=NOON + SECOND, kind=Movement.Kind.RECEIVED)
        build.stock(salt, 300, at=NOON)

        assert verifying.verify_ledger().added_up == ()

    def test_what_is_set_of_another_place_or_date_is_none(self):
        salt = build.item(place=build.place())
        build.stock(salt, 700, at=NOON + SECOND)
        build.stock(salt, 700, at=NOON, place=build.place())
        build.stock(salt, 700, at=NOON, use_by=date(2026, 5, 8))

        assert verifying.verify_ledger().added_up == ()


@pytest.mark.parametrize("items", [1, 30])
def test_proof_takes_as_many_queries_whatever_the_size(
    items, django_assert_num_queries
):
    shelf = build.place()
    for _ in range(items):
        build.item(place=shelf, on_hand_base=10)

    # A transaction, balances with sums, two counts, strayed movements, triggers,
    # figures that overlooked another.
    with django_assert_num_queries(7):
        assert verifying.verify_ledger().is_whole
