"""What phones say of themselves in a count, and what the review makes of it."""

import json
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from stock.counts import counting
from stock.models import CountDevice, CountTyped
from stock.web.counts.review_rows import line_name
from tests import build
from tests.build import NOON
from tests.web.counts.sending import entry, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def ada(signed_in):
    return User.objects.get(username="ada")


def typed(count, item, text, **fields):
    return {"place": count.places.get().pk, "item": item.pk, "text": text} | fields


def stands(count, *lines, **fields):
    return {
        "count": count.pk,
        "is_open": True,
        "waiting": 0,
        "typed": list(lines),
    } | fields


def report(browser, person, *counts, number=1, **fields):
    said = {"by": person.pk, "device": "phone", "number": number, "counts": counts}
    body = json.dumps(said | fields)
    return browser.post("/count/devices/", body, content_type="application/json")


def words(browser, count):
    page = browser.get(f"/count/{count.pk}/review/")
    return [device.words for device in page.context["devices"]]


def test_the_review_says_whose_phone_has_what_open(signed_in, ada, count, butter):
    line = typed(count, butter, "2 of something")

    report(signed_in, ada, stands(count, line, waiting=3))

    assert words(signed_in, count) == [
        "Phone of ada: its sheet is open, 3 entries not sent, 1 line typed, not "
        "entered; last heard today noon."
    ]
    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    assert ">butter in walk-in: “2 of something”</a>" in page


def test_the_line_itself_says_what_is_typed_on_somebody_s_phone(
    signed_in, ada, count, butter
):
    send(signed_in, entry(count, butter, "2 c"))  # as on record

    report(signed_in, ada, stands(count, typed(count, butter, "6/5 lb")))

    page = signed_in.get(f"/count/{count.pk}/review/")
    [item] = page.context["differing"]
    assert item.lines[0].question == "ada typed “6/5 lb” since, not entered."
    assert item.lines[0].remarks == []
    assert "Write it again</a>" in page.content.decode()
    assert "Decide on butter first." in page.content.decode()


def test_a_line_says_what_another_typed_on_it_and_asks_nothing(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "2 c"))
    ben, his = build.user("ben"), Client()
    his.force_login(ben)

    report(his, ben, stands(count, typed(count, butter, "6/5 lb")))

    [item] = signed_in.get(f"/count/{count.pk}/review/").context["differing"]
    assert item.lines[0].remarks == ["Phone of ben: “6/5 lb” typed, not entered."]
    assert item.lines[0].question == ""


def test_a_decision_answers_what_its_page_has_shown_to_be_typed(
    signed_in, ada, count, butter
):
    send(signed_in, entry(count, butter, "2 c"))

    def decided_from(page):
        review = page.context["review"]
        [line] = review.rows[0].lines
        fields = {
            "line": line_name(line.line.key),
            "choice": line.said[-1].entry.pk,
            "seen": review.newest_entry_id,
            "typed": review.newest_typed_id,
        }
        signed_in.post(f"/count/{count.pk}/decide/", fields)
        return counting.review(count.pk).undecided

    older_page = signed_in.get(f"/count/{count.pk}/review/")
    report(signed_in, ada, stands(count, typed(count, butter, "6/5 lb")))
    assert decided_from(older_page) == ("butter",)
    assert decided_from(signed_in.get(f"/count/{count.pk}/review/")) == ()


@pytest.mark.parametrize("step", ["post", "discard"])
def test_a_page_older_than_what_a_phone_told_is_typed_is_refused_once(
    signed_in, ada, count, butter, step
):
    send(signed_in, entry(count, butter, "2 c"))
    ben, his = build.user("ben"), Client()
    his.force_login(ben)
    counting.send_to_review(count.pk)
    page, shows = f"/count/{count.pk}/{step}/", f"/count/{count.pk}/review/"
    older = signed_in.get(shows).context["review"].shown
    report(his, ben, stands(count, typed(count, butter, "6/5 lb")))

    answer = signed_in.post(page, {"shown": older}, follow=True)

    assert [str(each) for each in answer.context["messages"]] == [
        "ben typed “6/5 lb” of butter in walk-in, not entered, after you opened this "
        f"page. Look at it again, then {step}."
    ]
    assert ">butter in walk-in: “6/5 lb”</a>" in answer.content.decode()
    newer = signed_in.get(shows).context["review"].shown
    report(his, ben, stands(count), number=2)  # he cleared it
    signed_in.post(page, {"shown": newer})
    count.refresh_from_db()
    assert not count.is_live


def test_what_a_page_sends_that_nobody_s_page_showed_is_refused(signed_in, count):
    for shown in ("|", "||||x", "|0|0|||none", "|1|0|||", "|0|1|||"):
        answer = signed_in.post(f"/count/{count.pk}/discard/", {"shown": shown})

        assert answer.status_code == 302

    count.refresh_from_db()
    assert count.is_live


@pytest.mark.parametrize(
    ("minutes", "heard"),
    [
        (2, "Phone of ada: its sheet is open; last heard today noon."),
        (
            4,
            "Phone of ada: its sheet is open; not heard since today noon. It may hold "
            "more: ask first.",
        ),
    ],
)
def test_a_phone_with_the_sheet_open_that_has_gone_silent_is_to_be_asked(
    signed_in, ada, count, monkeypatch, minutes, heard
):
    report(signed_in, ada, stands(count))

    monkeypatch.setattr(timezone, "now", lambda: NOON + timedelta(minutes=minutes))

    assert words(signed_in, count) == [heard]


def test_who_discards_a_count_sees_what_phones_have_open(signed_in, ada, count, butter):
    report(signed_in, ada, stands(count, typed(count, butter, "6/5 lb")))

    page = signed_in.get(f"/count/{count.pk}/discard/").content.decode()

    assert "Phone of ada: its sheet is open, 1 line typed, not entered;" in page
    assert ">butter in walk-in: “6/5 lb”</a>" in page


def test_two_phones_are_never_called_the_same(signed_in, client, ada, count):
    for device in ("tablet", "phone"):
        report(signed_in, ada, stands(count), device=device)
    for sign_in in ("rosa", "rosa2"):
        rosa = build.user(sign_in, first_name="Rosa Park")
        other = client.__class__()
        other.force_login(rosa)
        report(other, rosa, stands(count))

    names = sorted(each.partition(":")[0] for each in words(signed_in, count))

    assert names == [
        "Phone 1 of ada",
        "Phone 2 of ada",
        "Phone of Rosa Park (rosa)",
        "Phone of Rosa Park (rosa2)",
    ]


def test_a_phone_that_has_closed_its_sheet_is_not_named(signed_in, ada, count, butter):
    report(signed_in, ada, stands(count, typed(count, butter, "2")))

    report(signed_in, ada, stands(count, is_open=False), number=2)

    assert words(signed_in, count) == []
    assert not CountTyped.objects.exists()


def test_a_phone_whose_person_signs_out_has_no_sheet_open(
    signed_in, ada, count, butter
):
    ben = Client()
    ben.force_login(build.user("ben"))
    report(signed_in, ada, stands(count))
    report(signed_in, ada, stands(count, waiting=1), device="tablet")

    signed_in.post("/sign-out/", {"device": "phone"})
    (still_open,) = words(ben, count)
    assert still_open.startswith("Phone of ada: its sheet is open")

    signed_in.force_login(ada)
    signed_in.post("/sign-out/", {"device": "tablet"})
    assert words(ben, count) == [
        "Phone of ada: 1 entry not sent; last heard today noon."
    ]


def test_signing_out_closes_nobody_elses_sheets(signed_in, ada, count):
    ben = Client()
    ben.force_login(build.user("ben"))
    report(signed_in, ada, stands(count))

    ben.post("/sign-out/", {"device": "phone"})
    Client().post("/sign-out/", {"device": "phone"})

    assert CountDevice.objects.get().is_open


def test_a_report_that_comes_late_changes_nothing(signed_in, ada, count):
    report(signed_in, ada, stands(count, waiting=2), number=7)

    report(signed_in, ada, stands(count, is_open=False), number=6)

    assert CountDevice.objects.get().waiting == 2


def test_two_people_on_one_phone_are_two(signed_in, ada, count):
    ben = build.user("ben")
    his = Client()
    his.force_login(ben)

    report(signed_in, ada, stands(count, waiting=1))
    report(his, ben, stands(count, waiting=2), number=2)

    assert len(words(signed_in, count)) == 2


def test_who_reports_is_the_session(signed_in, ada, count):
    ben = build.user("ben")

    response = report(signed_in, ben, stands(count))

    assert response.json() == {"heard": 0}
    assert not CountDevice.objects.exists()


def test_what_is_not_there_any_more_is_left_out(signed_in, ada, count, butter):
    gone = typed(count, butter, "2") | {"item": butter.pk + 1_000}

    response = report(
        signed_in, ada, stands(count, gone), stands(count) | {"count": 999}
    )

    assert response.json() == {"heard": 1}
    assert not CountTyped.objects.exists()


def test_a_dropped_count_names_no_phones(signed_in, ada, count):
    report(signed_in, ada, stands(count))

    counting.discard(count.pk, at=NOON + timedelta(minutes=1))

    assert words(signed_in, count) == []


def test_entries_and_reports_go_together(signed_in, ada, count, butter):
    send(signed_in, entry(count, butter, "2 c"))
    report(signed_in, ada, stands(count, is_open=False))

    assert words(signed_in, count) == []
    counting.send_to_review(count.pk)
    assert counting.post_count(count.pk, at=NOON) == 0


@pytest.mark.parametrize(
    "fault",
    [
        {"counts": 3},
        {"counts": [3]},
        {"counts": [{"count": 1}]},
        {"counts": [{}] * 51},
        {"number": -1},
        {"number": True},
        {"device": None},
        {"device": "\ud800"},
        {"by": "ada"},
    ],
    ids=ascii,
)
def test_a_malformed_report_is_refused(signed_in, ada, count, fault):
    response = report(signed_in, ada, **fault)

    assert response.status_code == 400
    assert not CountDevice.objects.exists()


@pytest.mark.parametrize(
    "fault",
    [
        {"text": 2},
        {"text": "2\0"},
        {"use_by": "2026-02-30"},
        {"use_by": 7},
        {"lot_code": "\ud800"},
        {"place": "walk-in"},
    ],
    ids=ascii,
)
def test_a_malformed_line_refuses_its_report(signed_in, ada, count, butter, fault):
    line = typed(count, butter, "2") | fault

    response = report(signed_in, ada, stands(count, line))

    assert response.status_code == 400
    assert not CountDevice.objects.exists()


def test_whoever_is_signed_out_reports_nothing(client, count):
    ben = build.user("ben")

    assert report(client, ben, stands(count)).status_code == 302


def test_the_locked_page_names_nobody_and_no_day(signed_in, client, db):
    page = Client().get("/count/locked/").content.decode()

    assert "Nobody is signed in on this phone" in page
    assert "data-person" not in page
    assert "masthead-day" not in page
