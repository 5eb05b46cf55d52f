"""A workbook is looked at before it is stored, and stored as it was looked at."""

import io
import os
import tempfile
import time
from datetime import date
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from planning.interchange.kept_cells import load_cells
from planning.web.kitchen import waiting_files
from stock.models import Item, Movement, Place
from tests import build

pytestmark = pytest.mark.django_db

FILES = "/kitchen/files/"
DOWNLOAD = "/kitchen/files/download/"


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Files wait in a folder of the test's own."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def workbook(**sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name.replace("_", " "))
        for row in rows:
            sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return SimpleUploadedFile("kitchen.xlsx", buffer.getvalue())


def places(*rows):
    return workbook(Places=[["place", "walk_order"], *rows])


def send(browser, upload):
    """Send a file; return the address at which it is looked at."""
    response = browser.post(FILES, {"file": upload})
    assert response.status_code == 302
    return response.url


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode())


def fingerprint(browser, address):
    return browser.get(address).context["report"].fingerprint()


def store(browser, address, **data):
    data = data or {"fingerprint": fingerprint(browser, address)}
    return browser.post(f"{address}store/", data, follow=True)


def notices(response):
    return [str(message) for message in response.context["messages"]]


def waiting(folder):
    files = [path for path in folder.rglob("*") if path.is_file()]
    return [path for path in files if path.stat().st_size]  # empty: it is stored


def test_the_page_takes_a_workbook_and_offers_the_whole_kitchen(signed_in):
    markup = page(signed_in, FILES)

    assert 'enctype="multipart/form-data"' in markup
    assert f'href="{DOWNLOAD}"' in markup


def test_nobody_gets_the_kitchen_without_signing_in(client):
    for address in (FILES, DOWNLOAD, f"{FILES}token/"):
        assert client.get(address).url.startswith("/sign-in/")


def test_a_look_shows_what_would_be_added_and_changed_and_stores_nothing(signed_in):
    build.place("cooler", walk_order=1)

    address = send(signed_in, places(["Cooler", 2], ["<b>loft", 3]))
    markup = page(signed_in, address)

    assert "It would add 1 row and change 1. Nothing is stored yet." in markup
    assert "<li><b>loft</li>" in markup
    assert "&lt;b&gt;loft" in signed_in.get(address).content.decode()
    row = signed_in.get(address).context["changes"].rows[0].cells
    assert (row["key"], row["before"], row["after"]) == ("cooler", "1", "2")
    assert "Store this" in markup
    assert Place.objects.get().walk_order == 1


def test_a_file_that_bakes_a_stored_cake_says_that_it_takes_nothing(signed_in):
    build.planned_cake(build.cake("torte"), reference="T-1", due_on=date(2026, 5, 8))
    rows = [["reference", "status"], ["T-1", "baked"]]
    warning = (
        "Baked by this file: T-1. It takes nothing from the shelves: its Stock "
        "must say what is left, or set it by hand."
    )

    address = send(signed_in, workbook(Bake_plan=rows))

    assert warning in page(signed_in, address)
    assert warning in notices(store(signed_in, address))
    again = send(signed_in, workbook(Bake_plan=rows))
    assert "Baked by this file" not in page(signed_in, again)


def test_what_was_looked_at_is_stored_in_the_name_of_who_did(signed_in, folder):
    upload = workbook(
        Items=[["item", "measure"], ["butter", "mass"]],
        Stock=[["item", "quantity"], ["butter", "2 kg"]],
    )
    address = send(signed_in, upload)

    response = store(signed_in, address)

    assert notices(response) == [
        "kitchen.xlsx is stored: 2 added, 0 changed, 0 as they were."
    ]
    assert Movement.objects.get().by.username == "ada"
    assert waiting(folder) == []


def test_a_file_that_is_stored_already_would_change_nothing(signed_in):
    store(signed_in, send(signed_in, places(["cooler", 1])))

    markup = page(signed_in, send(signed_in, places(["cooler", 1])))

    assert "it would change nothing" in markup
    assert "Store this" not in markup


def test_faulty_cells_are_shown_with_what_is_sound_and_cannot_be_stored(signed_in):
    address = send(signed_in, places(["cooler", "first"], ["loft", 3]))

    markup = page(signed_in, address)
    response = store(signed_in, address)

    assert "Nothing can be stored yet: 1 cell must be put right first." in markup
    assert "Places!B2" in markup
    assert "'first' isn't a number." in markup
    assert "Store this" not in markup
    assert notices(response)[0].startswith("Places!B2: 'first' isn't a number.")
    assert not Place.objects.exists()


def test_a_file_that_is_no_workbook_is_refused_beside_its_field(signed_in, folder):
    response = signed_in.post(
        FILES, {"file": SimpleUploadedFile("photo.xlsx", b"\x89PNG")}
    )

    assert response.context["form"].errors["file"] == [
        "photo.xlsx isn't a workbook. Save it from the spreadsheet as an Excel "
        "workbook (.xlsx)."
    ]
    assert waiting(folder) == []


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({}, "Choose the workbook first."),
        (
            {"file": SimpleUploadedFile("empty.xlsx", b"")},
            "That file is empty. Choose the workbook again.",
        ),
    ],
    ids=["none", "empty"],
)
def test_no_file_is_refused_beside_its_field(signed_in, data, sentence):
    response = signed_in.post(FILES, data)

    assert response.context["form"].errors["file"] == [sentence]


def test_what_somebody_changed_in_the_meantime_is_looked_at_again(signed_in):
    cooler = build.place("cooler", walk_order=1)
    address = send(signed_in, places(["cooler", 2], ["loft", 3]))
    seen = fingerprint(signed_in, address)
    cooler.walk_order = 7
    cooler.save()

    response = store(signed_in, address, fingerprint=seen)

    assert notices(response)[0].startswith("Somebody has changed the kitchen")
    assert response.context["name"] == "kitchen.xlsx"
    assert [place.walk_order for place in Place.objects.all()] == [7]


@pytest.mark.parametrize("is_found_first", [True, False])
def test_of_two_taps_at_once_both_say_that_the_file_is_stored(
    signed_in, monkeypatch, is_found_first
):
    address = send(signed_in, places(["cooler", 2], ["loft", 3]))
    seen = fingerprint(signed_in, address)
    find = waiting_files.find

    def find_while_the_other_tap_stores(token, **fields):
        monkeypatch.setattr(waiting_files, "find", find)
        waiting = find(token, **fields) if is_found_first else None
        first = store(signed_in, address, fingerprint=seen)
        assert notices(first)[0].startswith("kitchen.xlsx is stored: 2 added")
        return waiting or find(token, **fields)

    monkeypatch.setattr(waiting_files, "find", find_while_the_other_tap_stores)

    response = store(signed_in, address, fingerprint=seen)

    assert notices(response) == [
        "kitchen.xlsx is stored already. Choose it again to compare."
    ]
    assert Place.objects.count() == 2


@pytest.mark.parametrize("sent", ["", "0" * 64])
def test_nothing_is_stored_that_was_not_looked_at(signed_in, sent):
    address = send(signed_in, places(["loft", 3]))

    store(signed_in, address, fingerprint=sent)

    assert not Place.objects.exists()


def test_a_file_is_its_sender_s_alone(signed_in, client):
    address = send(signed_in, places(["loft", 3]))
    seen = fingerprint(signed_in, address)
    client.force_login(build.user("ben"))

    look = client.get(address, follow=True)
    response = store(client, address, fingerprint=seen)

    assert "no longer here" in notices(look)[0]
    assert "no longer here" in notices(response)[0]
    assert not Place.objects.exists()


def test_a_file_that_was_tampered_with_is_not_read(signed_in, folder):
    address = send(signed_in, places(["loft", 3]))
    (path,) = waiting(folder)
    path.write_bytes(places(["attic", 3]).read())

    look = signed_in.get(address, follow=True)

    assert "no longer here" in notices(look)[0]


@pytest.mark.parametrize("token", ["x", "W10:1abc:def"])
def test_a_token_that_nobody_signed_finds_nothing(signed_in, token):
    response = signed_in.get(f"{FILES}{token}/", follow=True)

    assert "no longer here" in notices(response)[0]


def test_what_waited_for_an_hour_is_taken_away_with_the_next_file(signed_in, folder):
    first = send(signed_in, places(["loft", 3]))
    (path,) = waiting(folder)
    long_ago = time.time() - waiting_files.LONGEST_WAIT_SECONDS - 1
    os.utime(path, (long_ago, long_ago))

    second = send(signed_in, places(["attic", 3]))

    assert len(waiting(folder)) == 1
    assert "no longer here" in notices(signed_in.get(first, follow=True))[0]
    assert signed_in.get(second).status_code == 200


def test_the_folder_is_open_to_its_owner_alone(signed_in, folder):
    send(signed_in, places(["loft", 3]))

    (kept,) = waiting(folder)
    assert Path(kept).parent.stat().st_mode & 0o777 == 0o700


def test_a_fourth_file_takes_the_place_of_the_same_persons_first(signed_in, folder):
    other = build.user("bo")
    theirs = waiting_files.put_aside(b"cellar", "k.xlsx", user_id=other.pk)
    looks = [send(signed_in, places([f"shelf {number}", 3])) for number in range(4)]

    assert len(waiting(folder)) == 4
    assert "no longer here" in notices(signed_in.get(looks[0], follow=True))[0]
    assert signed_in.get(looks[-1]).status_code == 200
    assert waiting_files.find(theirs, user_id=other.pk).content == b"cellar"


def test_nothing_waits_beyond_the_quota(signed_in, folder, monkeypatch):
    monkeypatch.setattr(waiting_files, "MOST_BYTES", 10)

    response = signed_in.post(FILES, {"file": places(["loft", 3])})

    assert "Too many files are waiting" in response.content.decode()
    assert waiting(folder) == []


def test_a_folder_that_others_could_read_is_not_used(signed_in, folder):
    send(signed_in, places(["loft", 3]))
    (path,) = waiting(folder)
    Path(path).parent.chmod(0o755)

    response = signed_in.post(FILES, {"file": places(["loft", 3])})

    assert "belongs to somebody else, so no file was kept" in response.content.decode()


def test_storing_takes_a_post(signed_in):
    address = send(signed_in, places(["loft", 3]))

    assert signed_in.get(f"{address}store/").status_code == 405


def test_the_downloaded_kitchen_comes_back_unchanged(signed_in):
    build.bakery(name="Crème & Sons")
    build.item("butter", on_hand_base=500, place=build.place("cooler"))

    response = signed_in.get(DOWNLOAD)
    upload = SimpleUploadedFile("kitchen.xlsx", response.content)

    disposition = response.headers["Content-Disposition"]
    assert disposition.startswith('attachment; filename="creme-sons_20')
    assert "it would change nothing" in page(signed_in, send(signed_in, upload))
    assert Item.objects.get().name == "butter"


def test_stock_that_no_workbook_can_hold_is_told(signed_in):
    build.item("butter", on_hand_base=-5, place=build.place("cooler"))

    assert "Butter in cooler: the record is below zero" in page(signed_in, FILES)


def test_what_waits_is_what_was_read_so_that_it_is_read_once(signed_in, folder):
    send(signed_in, places(["cellar", 1]))

    (path,) = waiting(folder)
    kept = load_cells(path.read_bytes())
    assert kept.sheets["Places"].entries == [{"place": "cellar", "walk_order": 1}]


def test_faulty_rows_are_counted_beside_the_others(signed_in):
    address = send(signed_in, places(["freezer", 1], ["cooler", "x"], ["rack", "y"]))

    shown = signed_in.get(address).context["sheets"]

    [row] = [shown.rows[0].record]
    assert (len(row.names), row.changed, row.unchanged, row.faulty) == (1, 0, 0, 2)


def test_a_stored_use_by_that_nobody_can_mean_comes_back_and_is_told(signed_in):
    cream = build.item("cream", place=build.place("walk-in"))
    build.stock(cream, 2_000, use_by=date(26, 12, 24))

    asked = page(signed_in, FILES)
    content = signed_in.get(DOWNLOAD).content
    report = signed_in.get(send(signed_in, SimpleUploadedFile("k.xlsx", content)))

    assert (
        "Cream in walk-in has the use-by 0026-12-24, which a new kitchen refuses. "
        "Count it as 0, then with its label's date."
    ) in asked
    assert report.context["report"].faults == ()
    assert report.context["report"].changes_nothing


def test_a_use_by_that_nobody_can_mean_is_refused_in_a_file(signed_in):
    upload = workbook(
        Items=[["item", "measure"], ["cream", "mass"]],
        Stock=[["item", "quantity", "use_by"], ["cream", "2 kg", "0026-12-24"]],
    )

    report = signed_in.get(send(signed_in, upload)).context["report"]

    assert [str(fault) for fault in report.faults] == [
        "Stock!C2: 0026-12-24 is too far away. Write a year from 1990 to 2189."
    ]
