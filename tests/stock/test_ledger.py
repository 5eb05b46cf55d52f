from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.utils import timezone

from stock.ledger import ledger
from stock.ledger.ledger import (
    AmountOutOfRangeError,
    KeyTakenError,
    LotKey,
    NewMovement,
)
from stock.models import Balance, Lot, Movement
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db
FRIDAY = date(2026, 5, 8)


def movement(item, amount_base, *, place=None, **fields):
    fields = {
        "item_id": item.pk,
        "place_id": (place or item.place).pk,
        "kind": Movement.Kind.RECEIVED,
        "amount_base": Decimal(amount_base),
        "at": NOON,
    } | fields
    fields.setdefault("lot_id", ledger.lot_for(item_id=item.pk))
    return NewMovement(**fields)


def shelved_item(name=None, **fields):
    return build.item(name, place=build.place(), **fields)


def test_what_came_and_what_left_add_up():
    flour = shelved_item()

    kept = ledger.record([movement(flour, 5_000), movement(flour, "-1250.5")])

    assert kept == 2
    assert on_hand_base_by_item() == {flour.pk: Decimal("3749.5")}


def test_amounts_are_exact_where_floats_are_not():
    # Ten times 0.1 is 0.9999999999999999 in binary floats.
    saffron = shelved_item()

    ledger.record([movement(saffron, "0.1") for _ in range(10)])

    assert on_hand_base_by_item() == {saffron.pk: Decimal(1)}


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("41.66665", "41.6667"),
        ("41.66664", "41.6666"),
        ("-41.66665", "-41.6667"),
        ("0.00005", "0.0001"),
    ],
)
def test_an_amount_is_rounded_half_up_to_four_places(given, kept):
    flour = shelved_item()

    ledger.record([movement(flour, given)])

    assert Movement.objects.get().amount_base == Decimal(kept)
    assert on_hand_base_by_item() == {flour.pk: Decimal(kept)}


@pytest.mark.parametrize("nothing", ["0", "0.00004", "-0.00004"])
def test_a_movement_of_nothing_is_passed_over(nothing):
    flour = shelved_item()

    assert ledger.record([movement(flour, nothing)]) == 0

    assert not Movement.objects.exists()
    assert on_hand_base_by_item() == {}


def test_no_movements_are_no_work(django_assert_num_queries):
    with django_assert_num_queries(2):  # the transaction opens and closes
        assert ledger.record([]) == 0


def test_a_movement_keeps_all_that_is_known_of_it():
    ada = build.user()
    flour = shelved_item()
    lot_id = ledger.lot_for(item_id=flour.pk, use_by=FRIDAY, code="A7")

    ledger.record(
        [
            movement(
                flour,
                500,
                lot_id=lot_id,
                kind=Movement.Kind.MADE,
                note="second mix",
                key="phone-1",
                by_id=ada.pk,
            )
        ]
    )

    row = Movement.objects.get()
    assert (row.item, row.place, row.lot_id) == (flour, flour.place, lot_id)
    assert (row.kind, row.at, row.by) == ("made", NOON, ada)
    assert (row.note, row.key) == ("second mix", "phone-1")


def test_a_repeat_is_nothing_and_gives_the_first_answer():
    flour = shelved_item()
    sent = [movement(flour, 500, key="a"), movement(flour, 700, key="b")]

    first = ledger.record(sent)
    second = ledger.record(sent)

    assert first == second == 2
    assert on_hand_base_by_item() == {flour.pk: Decimal(1_200)}


def test_a_repeat_within_one_list_is_nothing():
    flour = shelved_item()

    assert ledger.record([movement(flour, 500, key="a")] * 2) == 2

    assert on_hand_base_by_item() == {flour.pk: Decimal(500)}


def test_movements_without_a_key_may_be_alike():
    flour = shelved_item()

    ledger.record([movement(flour, 500), movement(flour, 500, key="")])

    assert on_hand_base_by_item() == {flour.pk: Decimal(1_000)}


def test_what_is_new_beside_a_repeat_is_written():
    flour = shelved_item()
    ledger.record([movement(flour, 500, key="a")])

    ledger.record([movement(flour, 500, key="a"), movement(flour, 70, key="b")])

    assert on_hand_base_by_item() == {flour.pk: Decimal(570)}


def test_what_leaves_under_a_key_leaves_once():
    flour = shelved_item()
    ledger.record([movement(flour, 500)])
    left = movement(flour, -200, key="a", kind=Movement.Kind.WASTED)

    ledger.record([left])
    ledger.record([left])

    assert on_hand_base_by_item() == {flour.pk: Decimal(300)}


def test_the_moment_after_the_lock_is_that_of_the_newest_movement_ahead_of_the_clock():
    flour = shelved_item()
    soon, later = (timezone.now() + timedelta(hours=hours) for hours in (1, 2))
    ledger.record([movement(flour, 5, at=later), movement(flour, 5, at=soon)])

    assert ledger.moment_after_lock([flour.pk]) == later


def test_the_same_key_with_another_amount_is_refused_and_nothing_is_written():
    flour = shelved_item("bread flour")
    ledger.record([movement(flour, 500, key="a")])

    with pytest.raises(KeyTakenError, match=r"Bread flour: another movement .* as a "):
        ledger.record([movement(flour, 30), movement(flour, 501, key="a")])

    assert on_hand_base_by_item() == {flour.pk: Decimal(500)}


def test_the_same_key_for_another_reason_is_refused():
    flour = shelved_item("bread flour")
    ledger.record([movement(flour, 500, key="a", kind=Movement.Kind.RECEIVED)])

    with pytest.raises(KeyTakenError):
        ledger.record([movement(flour, 500, key="a", kind=Movement.Kind.MADE)])

    assert on_hand_base_by_item() == {flour.pk: Decimal(500)}


def test_a_moment_without_its_zone_is_refused():
    flour = shelved_item()

    with pytest.raises(ValueError, match="must be aware"):
        ledger.record([movement(flour, 500, at=datetime(2026, 5, 4, 12))])  # noqa: DTZ001 (refused)

    assert not Movement.objects.exists()


def test_a_lot_of_another_item_is_refused_and_nothing_is_written():
    flour, sugar = shelved_item(), shelved_item()
    lot_of_sugar = ledger.lot_for(item_id=sugar.pk)

    with pytest.raises(ValueError, match="none of item"):
        ledger.record([movement(flour, 500), movement(flour, 500, lot_id=lot_of_sugar)])

    assert not Movement.objects.exists()
    assert on_hand_base_by_item() == {}


def test_an_item_that_is_not_there_is_refused():
    flour = shelved_item()

    with pytest.raises(ValueError, match="No items have these ids"):
        ledger.record([movement(flour, 500, item_id=flour.pk + 1)])


def test_the_largest_amount_is_kept_and_more_is_refused():
    flour = shelved_item("bread flour")
    largest = 10**11

    ledger.record([movement(flour, largest)])
    with pytest.raises(AmountOutOfRangeError, match="Bread flour: that is more"):
        ledger.record([movement(flour, f"{largest}.0001")])

    assert on_hand_base_by_item() == {flour.pk: Decimal(largest)}


def test_a_balance_beyond_the_range_is_refused_with_its_movement():
    flour = shelved_item("bread flour")
    ledger.record([movement(flour, 10**11)])

    with pytest.raises(AmountOutOfRangeError, match="Bread flour"):
        ledger.record([movement(flour, "0.0001")])

    assert Movement.objects.count() == 1
    assert on_hand_base_by_item() == {flour.pk: Decimal(10**11)}


@pytest.mark.parametrize("movements", [1, 50])
def test_movements_take_four_queries(movements, django_assert_num_queries):
    sent = [movement(shelved_item(), 500) for _ in range(movements)]

    with django_assert_num_queries(2 + 4):  # and the transaction opens and closes
        ledger.record(sent)


@pytest.mark.parametrize("movements", [1, 50])
def test_movements_with_keys_take_five(movements, django_assert_num_queries):
    sent = [movement(shelved_item(), 500, key=f"k{n}") for n in range(movements)]

    with django_assert_num_queries(2 + 5):
        ledger.record(sent)


def test_more_balances_than_one_statement_takes():
    shelf = build.place()
    flour = build.item(place=shelf)
    lots = ledger.lots_for(LotKey(flour.pk, None, f"L{n}") for n in range(300))

    ledger.record([movement(flour, 2, lot_id=lot_id) for lot_id in lots.values()])

    assert Balance.objects.count() == 300
    assert on_hand_base_by_item() == {flour.pk: Decimal(600)}


class TestLots:
    def test_a_lot_is_created_once(self):
        flour = build.item()

        first = ledger.lot_for(item_id=flour.pk, use_by=FRIDAY, code="A7")
        again = ledger.lot_for(item_id=flour.pk, use_by=FRIDAY, code=" A7 ")

        assert first == again
        assert Lot.objects.count() == 1

    def test_date_code_and_item_each_make_another_lot(self):
        flour, sugar = build.item(), build.item()
        keys = [
            LotKey(flour.pk),
            LotKey(flour.pk, FRIDAY),
            LotKey(flour.pk, FRIDAY + timedelta(days=1)),
            LotKey(flour.pk, FRIDAY, "A7"),
            LotKey(flour.pk, FRIDAY, "a7"),
            LotKey(sugar.pk, FRIDAY, "A7"),
        ]

        lots = ledger.lots_for(keys)

        assert list(lots) == keys
        assert len(set(lots.values())) == 6

    def test_lots_that_are_there_take_one_query(self, django_assert_num_queries):
        keys = [LotKey(build.item().pk, FRIDAY) for _ in range(30)]
        ledger.lots_for(keys)

        with django_assert_num_queries(1):
            ledger.lots_for(keys)

    def test_lots_that_are_not_take_three(self, django_assert_num_queries):
        keys = [LotKey(build.item().pk, FRIDAY) for _ in range(30)]

        with django_assert_num_queries(3):
            ledger.lots_for(keys)


def test_a_failed_job_leaves_no_movement_and_no_balance():
    flour = shelved_item()

    @transaction.atomic
    def take_in_and_fail():
        ledger.record([movement(flour, 500)])
        raise RuntimeError("the truck drove off")

    with pytest.raises(RuntimeError, match="drove off"):
        take_in_and_fail()

    assert not Movement.objects.exists()
    assert not Balance.objects.exists()


@pytest.mark.django_db(transaction=True)
class TestTwoAtOnce:
    POSTS = 40

    def test_nothing_is_lost_on_one_shelf(self, at_once):
        flour = shelved_item()
        sent = movement(flour, 3)

        at_once(*[lambda _: ledger.record([sent])] * 2, times=self.POSTS)

        total = Decimal(3 * 2 * self.POSTS)
        assert on_hand_base_by_item() == {flour.pk: total}
        assert Movement.objects.count() == 2 * self.POSTS

    def test_items_in_opposite_order_do_not_block_each_other(self, at_once):
        flour, sugar = shelved_item(), shelved_item()
        sent = [movement(flour, 1), movement(sugar, 2)]

        at_once(
            lambda _: ledger.record(sent),
            lambda _: ledger.record(sent[::-1]),
            times=self.POSTS,
        )

        assert on_hand_base_by_item() == {
            flour.pk: Decimal(2 * self.POSTS),
            sugar.pk: Decimal(4 * self.POSTS),
        }

    def test_what_both_send_under_the_same_keys_counts_once(self, at_once):
        flour = shelved_item()

        def send(number):
            ledger.record([movement(flour, 5, key=f"phone-{number}")])

        at_once(send, send, times=self.POSTS)

        assert on_hand_base_by_item() == {flour.pk: Decimal(5 * self.POSTS)}

    def test_both_create_the_same_lots(self, at_once):
        flour = shelved_item()

        def receive(number):
            ledger.lot_for(item_id=flour.pk, code=f"L{number}")

        at_once(receive, receive, times=self.POSTS)

        assert Lot.objects.count() == self.POSTS


def test_moments_are_kept_with_their_offset():
    flour = shelved_item()
    in_chicago = datetime.fromisoformat("2026-05-04T23:30:00-05:00")

    ledger.record([movement(flour, 1, at=in_chicago)])

    assert Movement.objects.get().at == datetime(2026, 5, 5, 4, 30, tzinfo=UTC)
