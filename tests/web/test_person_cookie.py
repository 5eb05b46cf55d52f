"""The cookie that tells scripts who is signed in, and that proves nothing."""

import pytest
from django.contrib.auth.models import User

pytestmark = pytest.mark.django_db


def test_it_names_whoever_is_signed_in(signed_in):
    ada = User.objects.get(username="ada")

    response = signed_in.get("/count/")

    assert response.cookies["person"].value == str(ada.pk)
    assert not response.cookies["person"]["httponly"]
    assert "person" not in signed_in.get("/count/").cookies


def test_it_goes_with_the_answer_to_signing_out(signed_in):
    signed_in.get("/count/")

    response = signed_in.post("/sign-out/")

    assert response.cookies["person"].value == ""
    assert response.cookies["person"]["max-age"] == 0


def test_it_opens_no_page(client):
    ada = User.objects.create_user("ada")
    client.cookies["person"] = str(ada.pk)

    assert client.get("/count/").status_code == 302
