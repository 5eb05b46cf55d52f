"""What is asked before an order is approved or sent, and what is refused."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from planning.errors import OrderDayOverError, OrderQuestionsError
from planning.orders.going_out import Question
from planning.orders.order_book import booked_order
from planning.orders.orders import approve_order, return_to_draft, send_order
from stock.models import Bakery
from tests import build
from tests.planning.order_steps import TUESDAY, TWO_PM, State, hand

pytestmark = pytest.mark.django_db

AFTER_TWO = TWO_PM + timedelta(minutes=1)
WEDNESDAY = datetime(2026, 5, 6, 9, tzinfo=UTC)


@pytest.fixture
def order(mill, flour):
    """Three bags at 10.00 for Tuesday, to be ordered by Monday 2 pm."""
    return build.order(
        mill,
        deliver_on=TUESDAY,
        order_by=TWO_PM,
        state=State.DRAFT,
        lines=[(flour, 3)],
    )


@pytest.fixture
def small_order(order, mill):
    mill.minimum_order = Decimal(50)
    mill.save()
    return order


def state_of(order):
    order.refresh_from_db()
    return order.state


def test_in_time_and_large_enough_it_is_approved_unasked(order):
    approve_order(hand(order, at=TWO_PM))

    assert state_of(order) == "approved"


@pytest.mark.parametrize("answered", [(), (Question.CUT_OFF, Question.MINIMUM)])
def test_past_its_delivery_day_it_is_not_approved(order, answered):
    with pytest.raises(OrderDayOverError, match="was for Tue May 5, which is over"):
        approve_order(hand(order, at=WEDNESDAY), answered)

    assert state_of(order) == "draft"


def test_past_its_cut_off_it_is_approved_only_when_somebody_says_so(order):
    late = hand(order, at=AFTER_TWO)

    with pytest.raises(OrderQuestionsError) as asked:
        approve_order(late)
    assert asked.value.questions == (Question.CUT_OFF,)
    assert "Phone" in str(asked.value)
    assert state_of(order) == "draft"

    approve_order(late, [Question.CUT_OFF])
    assert state_of(order) == "approved"


def test_under_the_minimum_it_is_approved_only_when_somebody_says_so(small_order):
    with pytest.raises(OrderQuestionsError) as asked:
        approve_order(hand(small_order))
    assert asked.value.questions == (Question.MINIMUM,)
    assert "Under the minimum it can't come, unless" in str(asked.value)
    assert state_of(small_order) == "draft"

    approve_order(hand(small_order), [Question.MINIMUM])
    assert state_of(small_order) == "approved"


def test_the_minimum_is_not_asked_about_again_when_it_is_sent(small_order):
    approve_order(hand(small_order, at=TWO_PM), [Question.MINIMUM])

    send_order(hand(small_order, at=TWO_PM))

    assert state_of(small_order) == "sent"


def test_one_answer_does_not_answer_what_was_not_asked_yet(small_order):
    # The page asked about the minimum; the cut-off passed while somebody thought.
    with pytest.raises(OrderQuestionsError) as asked:
        approve_order(hand(small_order, at=AFTER_TWO), [Question.MINIMUM])

    assert asked.value.questions == (Question.CUT_OFF,)


def test_its_sheet_is_of_the_day_on_which_it_was_last_approved(order):
    sunday = TWO_PM - timedelta(days=1)
    approve_order(hand(order, at=sunday))
    return_to_draft(hand(order, at=sunday + timedelta(minutes=1)))
    approve_order(hand(order, at=TWO_PM))

    order.refresh_from_db()
    sheet = booked_order(order, bakery=Bakery.current()).sheet
    assert sheet.ordered_on == TWO_PM.date()


def test_approved_again_by_the_same_hand_it_is_not_asked_again(order):
    first = hand(order, at=TWO_PM)
    approve_order(first)

    assert approve_order(first).state == "approved"


def test_what_was_approved_in_time_is_not_sent_late_without_a_word(order):
    approve_order(hand(order, at=TWO_PM))

    with pytest.raises(OrderQuestionsError) as asked:
        send_order(hand(order, at=AFTER_TWO))
    assert asked.value.questions == (Question.CUT_OFF,)

    send_order(hand(order, at=AFTER_TWO), [Question.CUT_OFF])
    assert state_of(order) == "sent"


def test_that_it_was_sent_can_be_said_after_its_day_but_is_asked(order):
    approve_order(hand(order, at=TWO_PM))

    with pytest.raises(OrderQuestionsError) as asked:
        send_order(hand(order, at=WEDNESDAY))
    assert asked.value.questions == (Question.DAY_OVER,)

    send_order(hand(order, at=WEDNESDAY), [Question.DAY_OVER])
    assert state_of(order) == "sent"


def test_the_day_is_over_by_the_bakerys_clock(order):
    build.bakery(time_zone="America/Chicago")
    still_tuesday = datetime(2026, 5, 6, 4, 30, tzinfo=UTC)

    approve_order(hand(order, at=still_tuesday), [Question.CUT_OFF])

    assert state_of(order) == "approved"


def test_an_order_whose_cut_off_nobody_knows_is_not_asked_about_it(mill, flour):
    order = build.order(mill, deliver_on=TUESDAY, state="draft", lines=[(flour, 3)])

    approve_order(hand(order, at=AFTER_TWO))

    assert state_of(order) == "approved"
