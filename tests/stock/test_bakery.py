import pytest

from stock.bakery import keep_settings, setting_entries, setting_rows
from stock.entry.entries import Change, EntryFaultsError
from stock.models import Bakery
from stock.saving.sheets import SETTING_COLUMNS
from tests import build

pytestmark = pytest.mark.django_db


def test_settings_are_stored_and_the_same_again_changes_nothing():
    entries = setting_rows({"bakery": "Cake Rooms", "closed_days": "mon"})

    first = keep_settings(entries)
    second = keep_settings(entries)

    assert first.changed == (
        Change("bakery", "value", "Our bakery", "Cake Rooms"),
        Change("closed_days", "value", "", "Mon"),
    )
    assert (second.changed, second.unchanged) == ((), 2)
    assert Bakery.objects.get().closed_days == "Mon"


def test_a_blank_value_is_the_settings_default():
    keep_settings(setting_rows({"closed_days": "Mon", "leftover_worth": "0.5"}))

    keep_settings(setting_rows({"closed_days": "", "leftover_worth": ""}))

    bakery = Bakery.objects.get()
    assert (bakery.closed_days, str(bakery.leftover_worth)) == ("", "0.900")


def test_par_stands_on_the_last_day_of_each_week_unless_days_are_named():
    keep_settings(setting_rows({"week_starts": "Sun"}))
    unnamed = Bakery.objects.get()
    keep_settings(setting_rows({"par_days": "fri; wed"}))
    named = Bakery.objects.get()

    assert (unnamed.par_days, unnamed.par_weekdays) == ("", (5,))  # Saturday
    assert (named.par_days, named.par_weekdays) == ("Wed Fri", (2, 4))


@pytest.mark.parametrize(
    ("setting", "value", "words"),
    [
        ("bakery", "", "“Bakery” must not stay blank."),
        ("time_zone", "Mars/Olympus", "isn't a time zone"),
        ("horizon_days", "0", "1 or more"),
        ("leftover_worth", "1.5", "at most 1"),
        ("layer_height", "tall", "valid length"),
        ("week_starts", "Someday", "not known here"),
    ],
)
def test_a_faulty_value_is_named(setting, value, words):
    with pytest.raises(EntryFaultsError) as caught:
        keep_settings([{"setting": setting, "value": value}])

    (fault,) = caught.value.faults
    assert fault.column == "value"
    assert words in fault.message


def test_a_setting_that_there_is_not_is_a_fault():
    with pytest.raises(EntryFaultsError, match="'oven' is not known here"):
        keep_settings([{"setting": "oven", "value": "hot"}])


def test_every_setting_comes_back_as_an_entry_that_changes_nothing():
    build.bakery(time_zone="UTC")

    entries = setting_entries()

    assert [entry["setting"] for entry in entries][:2] == ["bakery", "time_zone"]
    assert keep_settings(entries).unchanged == len(SETTING_COLUMNS)


def test_a_time_zone_that_nobody_has_said_is_no_entry():
    entries = setting_entries()

    assert [entry["setting"] for entry in entries][:2] == ["bakery", "currency"]
    assert keep_settings(entries).unchanged == len(SETTING_COLUMNS) - 1


def test_a_bakery_is_open_on_one_day_of_the_week_at_least():
    with pytest.raises(EntryFaultsError, match="at least one weekday"):
        keep_settings(setting_rows({"closed_days": "Sun Mon Tue Wed Thu Fri Sat"}))

    assert keep_settings(
        setting_rows({"closed_days": "Mon Tue Wed Thu Fri Sat"})
    ).changed
