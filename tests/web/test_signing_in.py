"""Passwords are not guessed at, and guessing slows nobody else down."""

import argon2
import pytest
from argon2 import extract_parameters
from django.contrib.auth import authenticate
from django.contrib.auth.hashers import get_hasher
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client, RequestFactory
from django.urls import reverse

from stock.signing_in.limits import client_address
from stock.signing_in.people import set_password
from tests import build

pytestmark = pytest.mark.django_db

RIGHT = "flour-and-water"
COSTS = ("time_cost", "memory_cost", "parallelism")


@pytest.fixture
def ada():
    return build.user("ada", password=RIGHT)


def try_to_sign_in(name, password, *, address="10.1.1.1", client=None):
    return (client or Client()).post(
        reverse("login"),
        {"username": name, "password": password},
        REMOTE_ADDR=address,
    )


def test_after_five_wrong_passwords_there_is_a_pause_that_says_so(ada):
    for _ in range(4):
        assert try_to_sign_in("ada", "wrong").status_code == 200

    locked = try_to_sign_in("ada", "wrong")
    right = try_to_sign_in("ada", RIGHT)

    for answer in (locked, right):
        assert answer.status_code == 429
        assert answer["Retry-After"] == "300"
        assert (
            "Too many wrong passwords. Try again in 5 minutes"
            in answer.content.decode()
        )


def test_the_owner_signs_in_from_elsewhere_all_the_same(ada):
    for _ in range(6):
        try_to_sign_in("ada", "wrong")

    assert try_to_sign_in("ada", RIGHT, address="10.2.2.2").status_code == 302


def test_that_the_owner_signed_in_elsewhere_makes_no_room_for_more_guesses(ada):
    for _ in range(4):
        try_to_sign_in("ada", "wrong")

    assert try_to_sign_in("ada", RIGHT, address="10.2.2.2").status_code == 302

    assert try_to_sign_in("ada", "wrong").status_code == 429


def test_others_at_the_same_address_sign_in_until_it_was_wrong_twenty_times(ada):
    for number in range(19):
        try_to_sign_in(f"guess {number}", "wrong")
    assert try_to_sign_in("ada", RIGHT).status_code == 302

    for number in range(20):
        try_to_sign_in(f"another {number}", "wrong", address="10.3.3.3")

    assert try_to_sign_in("ada", RIGHT, address="10.3.3.3").status_code == 429


def test_a_locked_try_works_no_password_out(ada, monkeypatch):
    for _ in range(5):
        try_to_sign_in("ada", "wrong")
    worked_out = []
    monkeypatch.setattr(
        type(get_hasher()), "verify", lambda *_: worked_out.append(1) or False
    )

    try_to_sign_in("ada", RIGHT)

    assert worked_out == []


def test_a_locked_try_writes_one_page(ada):
    for _ in range(5):
        try_to_sign_in("ada", "wrong")

    locked = try_to_sign_in("ada", "wrong")

    pages = [template.name for template in locked.templates]
    assert pages.count("registration/login.html") == 1


def test_a_name_that_does_not_exist_is_answered_like_one_that_does(ada):
    def told(name):
        address = f"10.4.4.{len(name)}"
        answers = [try_to_sign_in(name, "wrong", address=address) for _ in range(6)]
        return [
            (
                answer.status_code,
                answer.content.decode().replace(name, "…").count("wrong"),
            )
            for answer in answers
        ]

    assert told("ada") == told("nobody")


def test_a_right_password_forgets_the_wrong_ones(ada):
    for _ in range(3):
        for _ in range(4):
            try_to_sign_in("ada", "wrong")
        assert try_to_sign_in("ada", RIGHT).status_code == 302


def test_signing_in_between_makes_no_more_room_for_guessing_at_others(ada):
    build.user("evil", password=RIGHT)
    told = []
    for _ in range(3):
        told += [try_to_sign_in("ada", "wrong").status_code for _ in range(4)]
        assert try_to_sign_in("evil", RIGHT).status_code == 302

    assert told == [200] * 4 + [429] * 8


def test_a_new_password_ends_the_pause(ada):
    for _ in range(5):
        try_to_sign_in("ada", "wrong")

    set_password(ada.pk, "sugar-and-molasses")

    assert try_to_sign_in("ada", "sugar-and-molasses").status_code == 302


@pytest.mark.parametrize(
    ("proxies", "forwarded", "address"),
    [
        (0, "6.6.6.6", "10.0.0.1"),  # nobody asked for what a browser says of itself
        (1, "6.6.6.6, 7.7.7.7", "7.7.7.7"),
        (2, "6.6.6.6, 7.7.7.7", "6.6.6.6"),
        (1, "", "10.0.0.1"),
        (3, "6.6.6.6", "10.0.0.1"),
        (1, "6.6.6.6, unknown", "10.0.0.1"),
        (1, "fe80::1", "fe80::1"),
    ],
)
def test_an_address_is_what_the_outermost_proxy_saw(
    settings, proxies, forwarded, address
):
    settings.PROXIES = proxies
    request = RequestFactory().get(
        "/", REMOTE_ADDR="10.0.0.1", HTTP_X_FORWARDED_FOR=forwarded
    )

    assert client_address(request) == address


@pytest.mark.parametrize(
    "password", ["rosa.miller", "1029384756", " " * 12, "ababababab", "password1"]
)
def test_a_password_that_is_guessed_first_is_refused(password):
    rosa = build.user("rosa.miller")

    with pytest.raises(ValidationError):
        validate_password(password, rosa)


@pytest.mark.parametrize("password", ["cabacbcabc", "  cabacbcabc  "])
def test_three_signs_are_too_few_and_blanks_around_them_are_none(password):
    with pytest.raises(ValidationError, match="at least 4 different"):
        validate_password(password, build.user("rosa"))


def test_four_signs_will_do():
    validate_password("cabacbcabd", build.user("rosa"))


def test_what_three_words_say_is_a_password():
    validate_password("oven mitt november", build.user("rosa"))


def test_a_name_that_does_not_exist_costs_as_much_work(settings, monkeypatch):
    """One password is worked out for either, and nothing else takes time."""
    from stock.site import settings as given

    settings.PASSWORD_HASHERS = given.PASSWORD_HASHERS
    build.user("rosa", password=RIGHT)
    costs = []
    work = argon2.low_level.hash_secret
    check = argon2.PasswordHasher.verify

    def noted(*given, **costing):
        costs.append({name: costing[name] for name in COSTS})
        return work(*given, **costing)

    def checked(hasher, hashed, password):
        costs.append(
            {name: getattr(extract_parameters(hashed), name) for name in COSTS}
        )
        return check(hasher, hashed, password)

    monkeypatch.setattr(argon2.low_level, "hash_secret", noted)
    monkeypatch.setattr(argon2.PasswordHasher, "verify", checked)
    for name in ("rosa", "nobody"):
        assert try_to_sign_in(name, "wrong").status_code == 200

    of_rosa, of_nobody = costs
    assert of_rosa == of_nobody


def test_passwords_are_kept_with_argon2(settings):
    from stock.site import settings as given

    settings.PASSWORD_HASHERS = given.PASSWORD_HASHERS
    rosa = build.user("rosa", password=RIGHT)

    assert rosa.password.startswith("argon2$argon2id$v=19$m=19456,t=2,p=1$")
    assert authenticate(RequestFactory().get("/"), username="rosa", password=RIGHT)
