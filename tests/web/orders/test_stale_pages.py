"""A page that somebody else has overtaken says so; it never says that it saved."""

import pytest

from planning.models import Answer
from planning.orders.answering import Said, answer_order
from planning.orders.new_day import set_new_day
from planning.orders.orders import Hand, cancel_order, set_packs
from planning.orders.revising import (
    Wanted,
    approve_revision,
    discard_revision,
    open_revision,
    set_revision,
)
from stock.models import Bakery
from tests import build
from tests.web.orders.drafts import FRIDAY, MONDAY_NOON, TUESDAY, draft
from tests.web.orders.pages import post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada():
    """The second person, faster than Rosa's page."""
    return build.user("ada", first_name="Ada")


@pytest.fixture
def sent(mill, flour):
    return build.order(mill, reference="A-7", deliver_on=TUESDAY, lines=[(flour, 5)])


def by(ada, order, version=1):
    return Hand(order.pk, version, MONDAY_NOON, ada.pk)


@pytest.mark.parametrize("typed", [{"kind": "refused"}, {"kind": ""}, {"all": "yes"}])
def test_an_answer_to_a_cancelled_order_is_not_said_to_be_saved(site, sent, ada, typed):
    line = sent.lines.get()
    cancel_order(by(ada, sent))

    fields = {k if k == "all" else f"line_{line.pk}-{k}": v for k, v in typed.items()}
    said = text(post(site, "answer_order", sent.pk, version=1, **fields))

    assert "Ada has cancelled A-7 already" in said
    assert "is saved" not in said
    assert not Answer.objects.exists()


def test_an_answer_to_a_line_that_came_meanwhile_is_refused(site, sent, ada):
    line = sent.lines.get()
    answer_order(by(ada, sent), [Said(line.pk, "refused")], bakery=Bakery.current())

    fields = {f"line_{line.pk}-kind": "confirmed"}
    said = text(post(site, "answer_order", sent.pk, version=1, **fields))

    assert "Ada has changed A-7 already" in said
    assert Answer.objects.get(undone_at=None).kind == "refused"


def test_packs_of_a_line_that_is_gone_are_not_said_to_be_saved(site, mill, flour, ada):
    order = draft(mill, (flour, 3))
    set_packs(by(ada, order), {flour.pk: 0})

    name = f"packs_{flour.pk}"
    said = text(post(site, "order", order.pk, version=1, **{name: "9"}))

    assert "Ada has changed 2026-014 already" in said
    assert "is saved" not in said


def test_the_same_packs_of_a_cancelled_draft_are_refused(site, mill, flour, ada):
    order = draft(mill, (flour, 3))
    cancel_order(by(ada, order))

    name = f"packs_{flour.pk}"
    for version, reason in (
        (1, "Ada has cancelled 2026-014 already"),
        (2, "2026-014 is cancelled"),
    ):
        said = text(post(site, "order", order.pk, version=version, **{name: "3"}))
        assert reason in said
        assert "is saved" not in said


def test_a_draft_that_is_gone_says_what_became_of_it(site, mill, flour):
    order = draft(mill, (flour, 3))
    gone = order.pk
    order.delete()

    said = text(post(site, "order", gone, version=1))

    assert "This draft is no longer there" in said


def test_the_same_day_for_a_cancelled_order_is_refused(site, sent, ada):
    bakery = Bakery.current()
    set_new_day(by(ada, sent), FRIDAY, bakery=bakery)
    cancel_order(by(ada, sent, 2))

    day = FRIDAY.isoformat()
    said = text(post(site, "order_new_day", sent.pk, version=1, due_on=day))

    assert "Ada has cancelled A-7 already" in said


def test_a_case_of_an_order_no_longer_open_is_said_not_to_be_recorded(site, sent, ada):
    cancel_order(by(ada, sent))

    said = text(post(site, "scan_label", sent.pk, version=1, label="123"))

    assert "A-7 is cancelled. The case is not recorded." in said


def test_saving_a_discarded_revision_is_said_to_save_nothing(site, sent, flour, ada):
    bakery = Bakery.current()
    open_revision(by(ada, sent), bakery=bakery)
    discard_revision(by(ada, sent, 2), bakery=bakery)

    name = f"packs_{flour.pk}"
    said = text(post(site, "revision", sent.pk, version=2, **{name: "4"}))

    assert "That revision is no longer open. Nothing is saved." in said


def test_ones_own_double_tap_is_harmless(site, sent):
    line = sent.lines.get()
    for _tap in range(2):
        fields = {f"line_{line.pk}-kind": "refused"}
        said = text(post(site, "answer_order", sent.pk, version=1, **fields))
        assert "The answer to A-7 is saved." in said

    assert Answer.objects.count() == 1


def test_the_same_revision_from_an_older_page_is_refused(site, sent, flour, ada):
    bakery = Bakery.current()
    open_revision(by(ada, sent), bakery=bakery)
    set_revision(by(ada, sent, 2), Wanted({flour.pk: 6}, TUESDAY), bakery=bakery)
    approve_revision(by(ada, sent, 3), bakery=bakery)

    name = f"packs_{flour.pk}"
    said = text(post(site, "revision", sent.pk, version=3, **{name: "6"}))

    assert "Ada has approved revision 1 of A-7 already" in said
    assert "is saved" not in said


def test_a_delivery_that_was_undone_is_not_said_to_have_come(site, sent):
    post(site, "close_order", sent.pk, version=1, key="k")
    delivery = sent.deliveries.get()
    post(site, "undo_delivery", sent.pk, delivery.pk, version=2)

    said = text(post(site, "close_order", sent.pk, version=1, key="k"))

    assert "A-7: this was received and undone since. Nothing else was done." in said
    assert not sent.deliveries.filter(undone_at=None).exists()
