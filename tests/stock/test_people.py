import pytest
from django.contrib.auth.models import User

from stock.signing_in.people import PersonEntry, PersonError, add_person, change_person
from tests import build

pytestmark = pytest.mark.django_db

PASSWORD = "three-tiers-high"


def entry(sign_in, **fields):
    return PersonEntry(sign_in, **{"name": "", "manages": False} | fields)


@pytest.mark.parametrize(("there", "typed"), [("rosa", "Rosa"), ("élodie", "Élodie")])
def test_a_sign_in_is_taken_whatever_its_case(there, typed):
    build.user(there)

    with pytest.raises(PersonError, match="already") as refused:
        add_person(entry(typed), password=PASSWORD)

    assert refused.value.field == "sign_in"
    assert User.objects.get().username == there


def test_a_person_may_keep_the_own_sign_in_in_another_case():
    rosa = build.user("rosa")

    change_person(rosa.pk, entry("Rosa"))

    assert User.objects.get().username == "Rosa"


def test_somebody_always_manages_people():
    ada = build.user("ada", is_staff=True)

    with pytest.raises(PersonError, match="the only one who manages people"):
        change_person(ada.pk, entry("ada"))

    build.user("rosa", is_staff=True)
    change_person(ada.pk, entry("ada"))
    assert not User.objects.get(pk=ada.pk).is_staff


@pytest.mark.django_db(transaction=True)
def test_ten_hands_that_add_one_person_at_once_add_one(at_once):
    build.bakery()
    told = []

    def add(number):
        def job(_):
            try:
                add_person(entry("racer" if number % 2 else "Racer"), password=PASSWORD)
            except PersonError as error:
                told.append(error.field)

        return job

    at_once(*(add(number) for number in range(10)), times=1)

    assert User.objects.count() == 1
    assert told == ["sign_in"] * 9
