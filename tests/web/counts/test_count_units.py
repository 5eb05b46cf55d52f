"""The counting unit beside each field: a bare number means it."""

from decimal import Decimal

import pytest

from stock.counts import counting
from stock.counts.deciding import ChosenReading, decide
from stock.counts.lines import line_of
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.web.counts.sending import send_page, sheet_url

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def lemons(walk_in):
    item = build.item("lemons", measure="count", place=walk_in, on_hand_base=40)
    build.pack(item, called="case", holds="115 each", size_base=115)
    return item


@pytest.fixture
def sugar(walk_in):
    return build.item("sugar", place=walk_in, on_hand_base=5_000)


@pytest.fixture
def count(lemons, sugar):
    return counting.open_count(counted_at=NOON, at=NOON)


def line(browser, count, name):
    lines = browser.get(sheet_url(count)).context["lines"]
    return next(each for each in lines if each.name == name)


def test_a_bare_number_means_the_unit_beside_the_field(signed_in, count):
    send_page(signed_in, count, lemons="39")

    entry = CountEntry.objects.get()
    assert (entry.typed, entry.text, entry.amount_base) == ("39", "39 each", 39)
    assert line(signed_in, count, "lemons").echo.startswith("39 lemons.")


def test_another_unit_can_be_chosen_beside_the_field(signed_in, count):
    shown = line(signed_in, count, "lemons")
    form = {shown.id: "2", f"{shown.id}-was": "", f"{shown.id}-unit": "case"}

    signed_in.post(sheet_url(count), form)

    assert (shown.unit, shown.units) == ("each", ("each", "case"))
    assert CountEntry.objects.get().amount_base == 230


def test_what_is_weighed_and_has_no_whole_thing_is_asked_about(signed_in, count):
    page = send_page(signed_in, count, sugar="5")
    [shown] = [each for each in page.context["lines"] if each.name == "sugar"]

    assert shown.readings == ("5 g", "5 oz", "5 lb", "5 kg")  # smallest first
    assert not CountEntry.objects.exists()
    send_page(signed_in, count, answer=f"{shown.id}=meant==5 kg")
    assert CountEntry.objects.get().amount_base == 5_000


def test_what_an_item_was_counted_in_last_stands_beside_it(signed_in, count, sugar):
    counts.enter(count, sugar, "4.8 kg")
    counts.posted(count)
    count = counting.open_count(counted_at=NOON, at=NOON)

    assert line(signed_in, count, "sugar").unit == "kg"


def test_what_was_decided_in_the_review_stands_beside_it(signed_in, count, sugar):
    build.pack(sugar, holds="10 kg", size_base=10_000, called="box")
    counts.enter(count, sugar, "5 box")
    [entry] = CountEntry.objects.all()
    meant = ChosenReading("5 kg", Decimal(5_000))
    line_key = line_of(entry)
    decide(count.pk, line_key, "read", at=NOON, entry_id=entry.pk, reading=meant)
    counts.posted(count)
    count = counting.open_count(counted_at=NOON, at=NOON)

    assert line(signed_in, count, "sugar").unit == "kg"
    page = signed_in.get(f"/shelves/{sugar.pk}/").content.decode()
    assert "kg (as counted last)" in page


def test_a_decision_that_a_later_entry_overtook_says_nothing(signed_in, count, sugar):
    counts.enter(count, sugar, "5 kg")
    [entry] = CountEntry.objects.all()
    decide(count.pk, line_of(entry), "one", at=NOON, entry_id=entry.pk)
    counts.enter(count, sugar, "5000 g")
    counts.posted(count)
    count = counting.open_count(counted_at=NOON, at=NOON)

    assert line(signed_in, count, "sugar").unit == "g"


def test_an_item_never_counted_does_not_say_counted_last(signed_in, sugar, lemons):
    def shown(item):
        return signed_in.get(f"/shelves/{item.pk}/").content.decode()

    assert "each (the smallest whole one)" in shown(lemons)
    assert "no unit: ask" in shown(sugar)
    build.pack(sugar, holds="25 lb", size_base=11_340, called="box")
    assert "no unit: ask" in shown(sugar)
    assert "as counted last" not in shown(sugar) + shown(lemons)


def test_something_found_is_counted_in_its_own_unit(signed_in, count, walk_in):
    found = build.item("limes", measure="count")
    extra = {"extra-item": "limes", "extra-amount": "12"}

    send_page(signed_in, count, **extra)

    row = CountEntry.objects.get(item=found)
    assert (row.typed, row.text) == ("12", "12 each")


def test_the_unit_is_chosen_on_the_page_of_the_item(signed_in, count, lemons):
    url = f"/shelves/{lemons.pk}/counted-in/"

    signed_in.post(url, {"counted_in": "case", "was": ""})
    stale = signed_in.post(url, {"counted_in": "each", "was": ""}, follow=True)
    signed_in.post(url, {"counted_in": "bucket", "was": "case"})

    lemons.refresh_from_db()
    assert lemons.counted_in == "case"
    assert "Somebody chose case meanwhile" in stale.content.decode()
    assert line(signed_in, count, "lemons").unit == "case"
