"""A null character in a request is refused before any database sees it."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from stock.models import Bakery
from tests import build

pytestmark = pytest.mark.django_db

SENTENCE = "holds a null character"


def assert_refused(answer):
    assert answer.status_code == 400
    page = answer.content.decode()
    assert SENTENCE in page
    assert "Go to today" in page


@pytest.mark.parametrize(
    "address",
    [
        "/bake-plan/size/?cake=a%00b",
        "/shelves/?a%00b=1",
        "/count/%00/",
        "/nowhere%00/",
    ],
)
def test_an_address_with_one_is_refused(signed_in, address):
    assert_refused(signed_in.get(address))


@pytest.mark.parametrize("name", ["note", "extra-item", "a\0b"])
@pytest.mark.parametrize("address", ["/count/1/note/", "/count/1/1/", "/sign-in/"])
def test_a_form_with_one_is_refused(signed_in, address, name):
    assert_refused(signed_in.post(address, {name: "a\0b"}))


def test_a_form_that_is_sent_as_an_address_is_refused(signed_in):
    kind = "application/x-www-form-urlencoded"

    answer = signed_in.post("/time-zone/", "time_zone=U%00TC", content_type=kind)

    assert_refused(answer)
    assert not Bakery.objects.exclude(time_zone="").exists()


def test_a_cookie_with_one_is_refused(client):
    client.cookies["sessionid"] = "aaaaaaaa\0"  # written "aaaaaaaa\000"

    assert_refused(client.get("/"))


def test_a_script_is_told_in_its_own_way(signed_in):
    answer = signed_in.post("/shelves/?a=%00", {}, content_type="application/json")

    assert answer.status_code == 400
    assert SENTENCE in answer.json()["sentence"]


def test_the_bytes_of_a_file_are_no_text(signed_in):
    file = SimpleUploadedFile("kitchen.xlsx", b"a\0b")

    answer = signed_in.post("/kitchen/files/", {"file": file}, follow=True)

    assert answer.status_code == 200
    assert SENTENCE not in answer.content.decode()


def test_other_texts_go_through(signed_in):
    build.item("crème")

    assert signed_in.get("/shelves/?q=cr%C3%A8me%01").status_code == 200
