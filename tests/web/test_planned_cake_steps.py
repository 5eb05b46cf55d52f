"""Planned cakes are confirmed, baked, cancelled and copied to other days."""

import re
from datetime import date, timedelta
from html import unescape
from itertools import count
from urllib.parse import urlencode

import pytest
from django.utils import timezone

from planning.models import PlannedCake
from tests import build
from tests.build import MONDAY, NOON
from tests.web.planned_cakes import SATURDAY, Status, butter_cake, lemon_cake
from tests.web.reading import as_shown, page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_cancelling_can_be_undone(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, status=Status.TENTATIVE)
    status_url = f"/bake-plan/{planned.pk}/status/"

    response = signed_in.post(status_url, {"status": "cancelled"} | as_shown(planned))

    planned.refresh_from_db()
    assert planned.status == Status.CANCELLED
    assert "Undo: set it back to tentative" in page(signed_in, response.url)

    signed_in.post(status_url, {"status": "tentative"} | as_shown(planned))

    planned.refresh_from_db()
    assert planned.status == Status.TENTATIVE


def test_setting_back_says_what_runs_short_again(signed_in):
    cake = butter_cake(on_hand_base=100)
    planned = build.planned_cake(
        cake, due_on=SATURDAY, status=Status.CANCELLED, reference="2201"
    )

    response = signed_in.post(
        f"/bake-plan/{planned.pk}/status/",
        {"status": "confirmed"} | as_shown(planned),
    )

    assert told(signed_in, response)[1].startswith(
        "This makes butter run out on Saturday, 200 g short."
    )


def test_what_a_bake_makes_short_is_told_by_the_shelf_after_it(signed_in, monkeypatch):
    cake = butter_cake(on_hand_base=500)
    late = build.planned_cake(cake, due_on=MONDAY - timedelta(days=1))
    build.planned_cake(cake, due_on=SATURDAY)
    moments = (NOON + timedelta(seconds=second) for second in count())
    monkeypatch.setattr(timezone, "now", lambda: next(moments))

    response = signed_in.post(
        f"/bake-plan/{late.pk}/status/", {"status": "baked"} | as_shown(late)
    )

    # a cake of yesterday is not planned for; it takes 300 g of 500, Saturday's 300
    assert told(signed_in, response)[1].startswith(
        "This makes butter run out on Saturday, 100 g short."
    )


def test_a_tentative_cake_is_confirmed(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, status=Status.TENTATIVE)

    signed_in.post(
        f"/bake-plan/{planned.pk}/status/",
        {"status": "confirmed"} | as_shown(planned),
    )

    planned.refresh_from_db()
    assert planned.status == Status.CONFIRMED


def test_baked_is_asked_for_first_and_stays(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, reference="2201")
    status_url = f"/bake-plan/{planned.pk}/status/"

    assert "Yes, it is baked" in page(signed_in, f"/bake-plan/{planned.pk}/baked/")
    signed_in.post(status_url, {"status": "baked"} | as_shown(planned))
    response = signed_in.post(status_url, {"status": "confirmed"})

    planned.refresh_from_db()
    assert planned.status == Status.BAKED
    assert told(signed_in, response)[-1] == (
        "2201 is baked already. Copy it to plan the same cake again."
    )


def test_a_status_that_there_is_not_changes_nothing(signed_in):
    planned = build.planned_cake(due_on=SATURDAY)

    response = signed_in.post(f"/bake-plan/{planned.pk}/status/", {"status": "eaten"})

    planned.refresh_from_db()
    assert planned.status == Status.CONFIRMED
    assert told(signed_in, response) == ["“eaten” is nothing that a cake can be."]


def test_changes_are_never_made_by_looking(signed_in):
    planned = build.planned_cake(due_on=SATURDAY)

    assert signed_in.get(f"/bake-plan/{planned.pk}/status/").status_code == 405
    assert signed_in.get(f"/bake-plan/{planned.pk}/copy/").status_code == 405
    assert signed_in.get("/bake-plan/copy/undo/").status_code == 405


def test_a_cake_is_copied_to_another_day(signed_in):
    planned = build.planned_cake(
        due_on=SATURDAY, reference="2201", quantity=3, size="6 in round x 3"
    )

    response = signed_in.post(f"/bake-plan/{planned.pk}/copy/", {"due": "2026-05-16"})

    copied = PlannedCake.objects.exclude(pk=planned.pk).get()
    assert response.url == f"/bake-plan/{copied.pk}/"
    assert copied.due_on == date(2026, 5, 16)
    assert (copied.reference, copied.quantity, copied.size) == (
        "2201 (2)",
        3,
        "6 in round x 3",
    )


def test_a_copy_that_is_sent_twice_is_made_once(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, reference="2201")
    sent = {"due": "2026-05-16", "newest": planned.pk}

    first, again = (
        signed_in.post(f"/bake-plan/{planned.pk}/copy/", sent) for _ in range(2)
    )
    assert first.url == again.url
    assert PlannedCake.objects.count() == 2
    # From a page that shows the first copy a second one is meant.
    sent["newest"] = PlannedCake.objects.latest("pk").pk
    signed_in.post(f"/bake-plan/{planned.pk}/copy/", sent)
    references = PlannedCake.objects.order_by("pk").values_list("reference", flat=True)
    assert list(references) == ["2201", "2201 (2)", "2201 (3)"]


def test_days_that_are_copied_twice_are_copied_once(signed_in):
    cake = lemon_cake()
    two = [build.planned_cake(cake, due_on=SATURDAY, quantity=2) for _ in range(2)]
    days = {"from": "2026-05-08", "to": "2026-05-10"}
    shown = page(signed_in, f"/bake-plan/copy/?{urlencode(days)}")
    [newest] = re.findall(r'name="newest" value="(\d+)"', shown)
    cakes = [each.pk for each in two]
    sent = days | {"onto": "2026-05-22", "cake": cakes, "newest": newest}

    first, again = (signed_in.post("/bake-plan/copy/", sent) for _ in range(2))

    assert first.url == again.url
    assert PlannedCake.objects.count() == 4


def test_a_copy_to_no_day_is_refused(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, reference="2201")

    response = signed_in.post(f"/bake-plan/{planned.pk}/copy/", {"due": "2026-02-30"})

    assert PlannedCake.objects.count() == 1
    assert told(signed_in, response)[0].startswith("2201 was not copied: ")


def test_a_weekend_is_copied_with_its_days_and_undone(signed_in):
    cake = lemon_cake()
    friday = build.planned_cake(cake, due_on=date(2026, 5, 8), reference="F")
    sunday = build.planned_cake(cake, due_on=date(2026, 5, 10), reference="S")
    left_out = build.planned_cake(cake, due_on=date(2026, 5, 9), reference="no")
    days = {"from": "2026-05-08", "to": "2026-05-10"}

    shown = page(signed_in, "/bake-plan/copy/?from=2026-05-08&to=2026-05-10")
    assert shown.count('name="cake"') == 3
    response = signed_in.post(
        "/bake-plan/copy/",
        days | {"onto": "2026-05-22", "cake": [friday.pk, sunday.pk]},
    )

    originals = [friday.pk, sunday.pk, left_out.pk]
    copies = PlannedCake.objects.exclude(pk__in=originals)
    assert [(each.reference, each.due_on) for each in copies] == [
        ("F (2)", date(2026, 5, 22)),
        ("S (2)", date(2026, 5, 24)),
    ]
    assert "Undo: cancel the 2 new cakes" in page(signed_in, response.url)

    signed_in.post(
        "/bake-plan/copy/undo/",
        {"cake": [each.pk for each in copies], "week": "2026-05-22"},
    )

    assert {each.status for each in copies.all()} == {Status.CANCELLED}
    friday.refresh_from_db()
    assert friday.status == Status.CONFIRMED


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"cake": []}, "Tick at least one cake to copy."),
        ({"onto": ""}, "Say which day the first of these days becomes."),
        ({"to": "2026-05-01"}, "The last day comes before the first."),
        ({"to": "2026-09-01"}, "Copy at most 31 days at once."),
    ],
)
def test_a_copy_of_days_that_cannot_be_is_refused(signed_in, changed, words):
    planned = build.planned_cake(due_on=date(2026, 5, 8))
    sent = {
        "from": "2026-05-08",
        "to": "2026-05-10",
        "onto": "2026-05-22",
        "cake": [planned.pk],
    }

    response = signed_in.post("/bake-plan/copy/", sent | changed)

    assert response.status_code == 200
    assert words in unescape(response.content.decode())
    assert PlannedCake.objects.count() == 1
