"""What answers say of themselves, and why a form from elsewhere is not taken."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import build

pytestmark = pytest.mark.django_db


def directives(answer):
    said = answer["Content-Security-Policy"].split(";")
    return {name: rest for name, *rest in (each.split() for each in said)}


@pytest.mark.parametrize("address", ["/", "/sign-in/", "/shelves/", "/no-such-page/"])
def test_a_page_loads_nothing_that_is_not_a_file_of_this_site(signed_in, address):
    policy = directives(signed_in.get(address))

    assert policy["default-src"] == ["'none'"]
    assert policy["frame-ancestors"] == ["'none'"]
    assert all("unsafe" not in word for words in policy.values() for word in words)


def test_what_is_behind_sign_in_is_kept_in_no_cache(signed_in):
    for address in ("/", "/orders/", "/kitchen/", reverse("stock:counts")):
        assert "no-store" in signed_in.get(address)["Cache-Control"], address
        assert "no-store" in Client().get(address)["Cache-Control"], address


def test_a_page_asks_a_device_for_nothing_but_its_camera(signed_in):
    said = signed_in.get("/")["Permissions-Policy"]

    assert "geolocation=()" in said
    assert "camera=(self)" in said


@pytest.fixture
def strict():
    """A browser whose forms are checked, as they are in use."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(build.user("ada"))
    return client


def test_a_form_from_an_address_that_is_not_set_up_says_so(strict):
    answer = strict.post("/kitchen/", HTTP_ORIGIN="https://kitchen.example")

    assert answer.status_code == 403
    page = answer.content.decode()
    assert "add https://kitchen.example to TRUSTED_ORIGINS" in page
    assert "open too long" not in page


def test_a_form_whose_page_is_too_old_says_so(strict):
    answer = strict.post("/kitchen/", {"csrfmiddlewaretoken": "x" * 64})

    assert answer.status_code == 403
    assert "The page was open too long." in answer.content.decode()


def test_an_origin_with_a_scheme_of_its_own_is_not_repeated(strict):
    answer = strict.post("/kitchen/", HTTP_ORIGIN="javascript:alert(1)")

    assert "javascript:" not in answer.content.decode()
