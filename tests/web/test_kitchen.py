"""The kitchen page: what everything is reckoned by, and who may sign in."""

import re
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from stock.models import Bakery
from stock.signing_in.people import password_version_of, set_password, version_of
from tests import build

pytestmark = pytest.mark.django_db

KITCHEN = "/kitchen/"
SETTINGS = {
    "bakery": "Quince & Rye",
    "time_zone": "America/Chicago",
    "currency": "USD",
    "week_starts": "Sun",
    "par_days": ["Fri"],
    "closed_days": ["Mon", "Tue"],
    "closed_on": "2026-12-25; 2027-01-01",
    "horizon_days": "21",
    "layer_height": "4 cm",
    "leftover_worth": "0.75",
    "version": "1",  # nobody has changed them
}
ROSA = {"sign_in": "rosa", "name": "Rosa Park", "password": "three-tiers-high"}


@pytest.fixture
def ada():
    return build.user("ada", is_staff=True, first_name="Ada")


@pytest.fixture
def site(client, ada):
    client.force_login(ada)
    return client


def text(response):
    words = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", unescape(words))


def post(site, page, *args, **data):
    return site.post(reverse(f"planning:{page}", args=args), data, follow=True)


def can_sign_in(client, username, password):
    client.logout()
    typed = {"username": username, "password": password}
    return client.post(reverse("login"), typed).status_code == 302


# Settings


def test_the_settings_are_kept(site):
    response = post(site, "kitchen", **SETTINGS)

    bakery = Bakery.objects.get()
    assert "The settings are saved." in text(response)
    assert (bakery.name, bakery.time_zone) == ("Quince & Rye", "America/Chicago")
    assert (bakery.week_starts, bakery.closed_days) == ("Sun", "Mon Tue")
    assert bakery.par_days == "Fri"
    assert bakery.closed_on == "2026-12-25; 2027-01-01"
    assert (bakery.horizon_days, bakery.layer_height) == (21, "4 cm")
    assert float(bakery.leftover_worth) == 0.75


def test_what_is_stored_stands_in_the_form_with_what_it_does(site):
    build.bakery(name="Quince & Rye", horizon_days=10)

    markup = site.get(KITCHEN).content.decode()

    assert 'value="Quince &amp; Rye"' in markup
    assert 'value="10"' in markup
    assert "Nothing is converted." in markup


def test_no_ticked_day_means_no_closed_day(site):
    build.bakery(closed_days="Mon")

    post(site, "kitchen", **{**SETTINGS, "closed_days": []})

    assert Bakery.objects.get().closed_days == ""


@pytest.mark.parametrize(
    ("setting", "typed", "sentence"),
    [
        ("time_zone", "America/Chicagoo", "America/Chicago"),
        ("time_zone", "", "“Time zone” must not stay blank."),
        ("currency", "dollars", "USD"),
        ("closed_on", "2026-02-30", "There is no 2026-02-30 in the calendar."),
        ("horizon_days", "0", "It must be 1 or more."),
        ("horizon_days", "367", "from 1 to 366"),
        ("layer_height", "tall", "1.5 in"),
        ("leftover_worth", "1.5", "1"),
        ("bakery", "", "“Bakery” must not stay blank."),
    ],
)
def test_a_setting_that_cannot_be_is_refused_beside_its_field(
    site, setting, typed, sentence
):
    response = post(site, "kitchen", **{**SETTINGS, setting: typed})

    form = response.context["form"]
    assert list(form.errors) == [setting]
    assert sentence in form.errors[setting][0]
    assert form[setting].value() == typed
    assert not Bakery.objects.filter(name="Quince & Rye").exists()


def test_the_page_leads_on_to_files_places_and_suppliers(site):
    markup = site.get(KITCHEN).content.decode()

    for name in ("planning:kitchen_files", "stock:places", "stock:suppliers"):
        assert f'href="{reverse(name)}"' in markup


# People


def test_a_person_is_added_and_signs_in(site):
    response = post(site, "add_person", **ROSA)

    assert "rosa can sign in now." in text(response)
    assert "Rosa Park" in text(response)
    rosa = User.objects.get(username="rosa")
    assert (rosa.is_staff, rosa.is_superuser) == (False, False)
    assert can_sign_in(site, "rosa", "three-tiers-high")


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("sign_in", "", "“Signs in as” must not stay blank."),
        ("sign_in", "ADA", "Somebody signs in as ADA already."),
        ("sign_in", "rosa park", "without spaces"),
        ("sign_in", "r" * 151, "write at most 150"),
        ("name", "R" * 151, "write at most 150"),
        ("password", "", "Write a first password."),
        ("password", "short", "at least 8 characters"),
        ("password", "password", "too common"),
    ],
)
def test_a_person_that_cannot_be_added_says_why(site, field, typed, sentence):
    response = post(site, "add_person", **{**ROSA, field: typed})

    assert list(response.context["form"].errors) == [field]
    assert sentence in text(response)
    assert User.objects.count() == 1


def test_a_password_is_never_sent_back(site):
    response = post(site, "add_person", **{**ROSA, "sign_in": "ada"})

    assert "three-tiers-high" not in response.content.decode()


def change(site, person, **said):
    """Send the form of a person as it was just opened, saying something else."""
    shown = {"version": version_of(User.objects.get(pk=person.pk))}
    return post(site, "change_person", person.pk, **shown, **said)


def test_a_person_gets_another_name_and_a_trust(site):
    rosa = build.user("rosa")

    change(site, rosa, sign_in="rosie", name="", manages="on", may_sign_in="on")

    rosa.refresh_from_db()
    assert (rosa.username, rosa.first_name, rosa.is_staff) == ("rosie", "", True)


def test_a_person_who_left_stays_on_record_and_cannot_sign_in(site):
    rosa = build.user("rosa")

    response = change(site, rosa, sign_in="rosa", name="")

    assert "no longer sign in" in text(response)
    assert not can_sign_in(site, "rosa", "flour-and-water")


@pytest.mark.parametrize("trust", [{"manages": "on"}, {"may_sign_in": "on"}, {}])
def test_somebody_always_manages_people(site, ada, trust):
    build.user("gone", is_staff=True, is_active=False)

    response = change(site, ada, sign_in="ada", name="Ada", **trust)

    ada.refresh_from_db()
    assert "ada is the only one who manages people." in text(response)
    assert (ada.is_staff, ada.is_active) == (True, True)


def test_a_manager_steps_back_when_there_is_another(site, ada):
    build.user("boss", is_superuser=True)

    change(site, ada, sign_in="ada", name="", may_sign_in="on")

    ada.refresh_from_db()
    assert not ada.is_staff


def test_a_password_that_another_set_is_replaced_only_by_who_knows(site, client):
    rosa = build.user("rosa")
    shown = {"version": password_version_of(rosa)}
    set_password(rosa.pk, "three-tiers-high")

    mine = {"password": "salted-caramel"}
    response = post(site, "person_password", rosa.pk, **shown, **mine)

    assert "Another password was set after you opened this page." in text(response)
    assert User.objects.get(pk=rosa.pk).check_password("three-tiers-high")
    again = {"version": response.context["form"]["version"].value()}
    post(site, "person_password", rosa.pk, **again, **mine)
    assert User.objects.get(pk=rosa.pk).check_password("salted-caramel")


def test_a_new_password_works_and_signs_out_elsewhere(site, client):
    rosa = build.user("rosa")
    elsewhere = client.__class__()
    elsewhere.force_login(rosa)

    shown = {"version": password_version_of(rosa)}
    new = {"password": "salted-caramel"}
    response = post(site, "person_password", rosa.pk, **shown, **new)

    assert "rosa has a new password." in text(response)
    assert elsewhere.get(KITCHEN).status_code == 302
    assert can_sign_in(site, "rosa", "salted-caramel")


def test_who_manages_nobody_sees_people_and_changes_none(client, ada):
    rosa = build.user("rosa")
    client.force_login(rosa)

    shown = client.get(KITCHEN)

    assert "Ada" in text(shown)
    assert reverse("planning:add_person") not in shown.content.decode()
    assert reverse("planning:change_person", args=[ada.pk]) not in (
        shown.content.decode()
    )
    for name, args in (
        ("add_person", []),
        ("change_person", [ada.pk]),
        ("person_password", [ada.pk]),
    ):
        url = reverse(f"planning:{name}", args=args)
        assert client.get(url).status_code == 403
        assert client.post(url, ROSA).status_code == 403
    assert ada.check_password("flour-and-water")


@pytest.mark.parametrize("more_people", [0, 9])
def test_the_page_reads_with_as_many_queries_however_many_people(
    site, django_assert_num_queries, more_people
):
    for _ in range(more_people):
        build.user(f"person-{User.objects.count()}")
    build.bakery()

    # session, user, bakery; the settings; the people
    with django_assert_num_queries(5):
        site.get(KITCHEN)
