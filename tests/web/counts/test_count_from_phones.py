"""Counts from phones: each entry is answered, and pages are kept for offline."""

import json
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.staticfiles import finders
from django.templatetags.static import static

from stock.counts import counting
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.web.counts.sending import entry, send, sheet_url

NAMED = re.compile(r"""(?:from |import |url)\(?["']([^"']+)["']""")

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_the_door_for_phones_answers_each_entry(signed_in, count, butter):
    good, unreadable = entry(count, butter, "2 c"), entry(count, butter, "2")

    answers = send(signed_in, good, unreadable, good)

    assert [answer["outcome"] for answer in answers] == ["taken", "kept", "taken"]
    assert answers[0]["words"] == "2 cases"
    assert "could be 2 g, " in answers[1]["sentence"]
    assert CountEntry.objects.filter(kept="").count() == 1


def test_the_sender_is_the_session_and_not_a_field_of_the_request(
    signed_in, count, butter
):
    ben = build.user("ben")

    (answer,) = send(signed_in, entry(count, butter, "2 c", by=ben.pk))

    assert answer["outcome"] == "apart"
    assert "entered by ben, and somebody else is signed in" in answer["sentence"]
    row = CountEntry.objects.get()
    assert (row.sent_by.username, row.claimed_by, row.kept) == ("ada", ben, "apart")


@pytest.mark.parametrize(
    "fault",
    [
        {"key": "7"},
        {"item": "butter"},
        {"item": True},
        {"text": None},
        {"text": "2\0"},
        {"entered_at": "yesterday"},
        {"entered_at": "2026-05-04T12:00:00"},
        {"sequence": -1},
        {"understood_base": "many"},
        {"use_by": "2026-02-30"},
        {"key": 7},
        {"supersedes": 7},
        {"text": "2 c\ud800"},
        {"lot_code": "\ud800"},
        {"device": "\ud800"},
        {"asked": "\ud800"},
        {"entered_at": "0001-01-01T00:00:00+14:00"},
        {"entered_at": "9999-12-31T23:59:59-14:00"},
    ],
    ids=ascii,
)
def test_a_malformed_entry_is_refused_alone(signed_in, count, butter, fault):
    bad, good = entry(count, butter, "1 c") | fault, entry(count, butter, "2 c")

    answers = send(signed_in, bad, good)

    by_key = {answer["key"]: answer["outcome"] for answer in answers}
    assert by_key == {good["key"]: "taken", str(bad["key"]): "refused"}


@pytest.mark.parametrize("junk", ["2 c", 7, None, [], [1]], ids=str)
def test_what_is_no_entry_does_not_hold_up_the_others(signed_in, count, butter, junk):
    good = entry(count, butter, "2 c")

    answers = send(signed_in, junk, good)

    outcomes = [answer["outcome"] for answer in answers]
    assert sorted(outcomes) == ["refused", "taken"]


@pytest.mark.parametrize("body", ["", "[]", "{}", '{"entries": 3}', '{"entries": [3'])
def test_what_is_no_list_of_entries_is_refused(signed_in, body):
    response = signed_in.post("/count/entries/", body, content_type="application/json")

    assert response.status_code == 400


def test_entries_after_posting_are_kept_with_what_to_do(signed_in, count, butter):
    send(signed_in, entry(count, butter, "2 c"))
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON)

    [answer] = send(signed_in, entry(count, butter, "3 c"))

    assert answer["outcome"] == "kept"
    assert "posted before this came" in answer["sentence"]


def test_whoever_is_signed_out_sends_nothing(client, count, butter):
    body = json.dumps({"entries": [entry(count, butter, "2 c")]})

    response = client.post("/count/entries/", body, content_type="application/json")

    assert response.status_code == 302
    assert not CountEntry.objects.exists()


def test_only_pages_that_may_be_old_name_whom_they_are_kept_for(signed_in, count):
    ada = str(User.objects.get(username="ada").pk)
    assert signed_in.get("/count/")["X-Offline"] == ada
    assert signed_in.get(sheet_url(count))["X-Offline"] == ada
    assert "X-Offline" not in signed_in.get(f"/count/{count.pk}/review/")


def test_every_module_of_the_sheet_is_named_on_its_page(signed_in, count):
    page = signed_in.get(sheet_url(count)).content.decode()

    folder = Path(finders.find("stock/count/start.js")).parent
    modules = {path.name for path in folder.glob("*.js")} - {
        "worker.js",
        "left.js",
        "kept_for.js",
    }
    assert {
        name for name in modules if static(f"stock/count/{name}") in page
    } == modules


def test_the_worker_covers_the_count_pages_and_needs_no_one_signed_in(client, db):
    response = client.get("/count/worker.js")

    assert response["Service-Worker-Allowed"] == "/count/"
    assert response["Content-Type"] == "text/javascript"
    version, files, *_ = response.content.decode().splitlines()
    assert version == f'const VERSION = "{settings.FILE_VERSION}";'
    assert static("stock/count/start.js") in files
    assert static("stock/count.css") in files


@pytest.mark.parametrize("app", ["stock", "planning"])
def test_scripts_and_styles_name_files_of_their_own_version_alone(app):
    folder = settings.BASE_DIR / app / "static"
    named = {
        name
        for path in folder.rglob("*")
        if path.suffix in (".js", ".css")
        for name in NAMED.findall(path.read_text())
    }

    assert all(name.startswith(("./", "../")) for name in named)
    assert named or app == "planning"
