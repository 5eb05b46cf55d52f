"""Many hands set one shelf at the same time: it ends as they said, never added up."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from planning.entry.sheets import STOCK
from planning.interchange.kitchens import SheetRows, keep_kitchen
from stock.counts import counting
from stock.errors import StockError
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Movement
from tests import build
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts

pytestmark = pytest.mark.django_db(transaction=True)

HANDS, ROUNDS = 20, 50
LONGEST_WAIT_SECONDS = 60
FIVE_KG = Decimal(5_000)


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf)


def row(item, amount_base):
    return OnHandRow(item_id=item.pk, place_id=item.place_id, amount_base=amount_base)


def workbook(item, quantity):
    entry = {"item": item.name, "place": item.place.name, "quantity": quantity}
    return {STOCK.name: SheetRows([entry])}


def after_each_round(at_once, *jobs):
    """Run jobs together, round by round; return what was on hand after each round."""
    together = threading.Barrier(len(jobs), timeout=LONGEST_WAIT_SECONDS)
    after = []

    def in_step(job):
        def run(number):
            together.wait()
            job(number)
            if together.wait() == 0:
                after.extend(on_hand_base_by_item().values())

        return run

    at_once(*map(in_step, jobs), times=ROUNDS)
    return after


def test_twenty_hands_that_say_the_same_end_with_what_they_said(flour, at_once):
    def hand(number):
        set_on_hand(row(flour, FIVE_KG + number))

    after = after_each_round(at_once, *[hand] * HANDS)

    assert after == [FIVE_KG + number for number in range(ROUNDS)]
    # The first of a round corrected; the other nineteen found it so.
    assert Movement.objects.count() == ROUNDS
    assert verify_ledger().is_whole


def test_five_hands_that_differ_end_with_what_one_of_them_said(flour, at_once):
    people = range(1, 6)

    def hand_of(person):
        return lambda number: set_on_hand(row(flour, Decimal(100 * person + number)))

    after = after_each_round(at_once, *map(hand_of, people))

    assert len(after) == ROUNDS
    for number, amount_base in enumerate(after):
        assert amount_base in {100 * person + number for person in people}


def test_hands_and_workbooks_that_say_the_same_end_with_what_they_said(flour, at_once):
    def hand(number):
        set_on_hand(row(flour, FIVE_KG + number))

    def load(number):
        keep_kitchen(workbook(flour, f"{FIVE_KG + number} g"))

    after = after_each_round(at_once, hand, load, hand, load)

    assert after == [FIVE_KG + number for number in range(ROUNDS)]
    assert Movement.objects.count() == ROUNDS


def test_a_count_posted_beside_a_hand_never_adds_up_with_it(flour, shelf, at_once):
    def in_review():
        now = timezone.now()
        count = counts.opened(shelf, counted_at=now)
        counts.enter(count, flour, "5 kg")
        counting.send_to_review(count.pk)
        return count.pk

    def post(_):
        try:
            counting.post_count(count_id, at=timezone.now())
        except StockError:
            counting.discard(count_id, at=timezone.now())

    for _ in range(10):
        set_on_hand(row(flour, Decimal(40_000)))
        count_id = in_review()

        at_once(post, lambda _: set_on_hand(row(flour, FIVE_KG)), times=1)

        assert on_hand_base_by_item() == {flour.pk: FIVE_KG}


def test_what_is_said_now_counts_a_movement_that_is_stamped_ahead(flour):
    tomorrow = timezone.now() + timedelta(days=1)
    build.stock(flour, 2_000, at=tomorrow, kind=Movement.Kind.RECEIVED)

    change = set_on_hand(row(flour, FIVE_KG))

    assert change.before_base == Decimal(2_000)
    assert on_hand_base_by_item() == {flour.pk: FIVE_KG}
    assert Movement.objects.latest("pk").at == tomorrow
