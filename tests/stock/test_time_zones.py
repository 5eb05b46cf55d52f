"""The machine's own time zone, as a first guess, and who is asked for the bakery's."""

from io import StringIO
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command

from stock.bakery import time_zone_note
from stock.calendar import time_zones
from stock.calendar.time_zones import machine_time_zone
from stock.models import Bakery
from stock.web.request import time_zone
from tests import build


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """Say what TZ, the name file and the link of a machine are."""

    def says(*, tz=None, name=None, link=None):
        monkeypatch.delenv("TZ", raising=False)
        if tz is not None:
            monkeypatch.setenv("TZ", tz)
        file, linked = tmp_path / "timezone", tmp_path / "localtime"
        if name is not None:
            file.write_text(f"{name}\n")
        if link is not None:
            linked.symlink_to(f"/usr/share/zoneinfo/{link}")
        monkeypatch.setattr(time_zones, "ZONE_NAME_FILE", file)
        monkeypatch.setattr(time_zones, "ZONE_LINK", linked)

    return says


@pytest.mark.parametrize(
    ("said", "zone"),
    [
        ({}, "UTC"),
        ({"tz": "America/Denver"}, "America/Denver"),
        ({"tz": ":Europe/Vienna"}, "Europe/Vienna"),
        ({"name": "America/Chicago"}, "America/Chicago"),
        ({"tz": "UTC", "name": "America/Chicago"}, "America/Chicago"),
        ({"name": "Etc/UTC", "link": "America/New_York"}, "America/New_York"),
        ({"tz": "nonsense", "name": "also/nonsense"}, "UTC"),
        ({"name": "../../etc/passwd"}, "UTC"),
    ],
)
def test_what_the_machine_says_in_any_way_is_its_zone(machine, said, zone):
    machine(**said)

    assert machine_time_zone() == zone


def test_a_link_that_leads_to_itself_names_no_zone(machine, tmp_path):
    machine()
    (tmp_path / "localtime").symlink_to(tmp_path / "localtime")

    assert machine_time_zone() == "UTC"


@pytest.mark.django_db
class TestUntilItIsSaid:
    def test_the_machine_s_zone_stands_in(self, settings):
        settings.MACHINE_TIME_ZONE = "America/Chicago"

        assert Bakery().zone == ZoneInfo("America/Chicago")
        assert "this machine's clock, America/Chicago." in time_zone_note()

    def test_once_it_is_said_nothing_is_asked(self, settings):
        settings.MACHINE_TIME_ZONE = "America/Chicago"

        kitchen = build.bakery(time_zone="Europe/Vienna")

        assert kitchen.zone == ZoneInfo("Europe/Vienna")
        assert time_zone_note() == ""

    def test_a_command_that_tells_days_says_on_whose_clock(self):
        err = StringIO()

        call_command("plan", "--json", stdout=StringIO(), stderr=err)
        build.bakery(time_zone="America/Chicago")
        quiet = StringIO()
        call_command("plan", "--json", stdout=StringIO(), stderr=quiet)

        assert err.getvalue() == (
            "No time zone is set, so days are told on this machine's clock, UTC. "
            "Set it: manage.py set_time_zone\n"
        )
        assert quiet.getvalue() == ""

    def test_the_command_sets_the_zone_that_it_is_given(self):
        call_command("set_time_zone", "America/Chicago", stdout=StringIO())

        assert Bakery.objects.get().time_zone == "America/Chicago"

    def test_the_command_refuses_what_is_no_zone_and_names_what_would_do(self):
        with pytest.raises(CommandError, match="Write it like America/Chicago"):
            call_command("set_time_zone", "Chicago")

        assert not Bakery.objects.exclude(time_zone="").exists()

    @pytest.mark.parametrize(
        ("typed", "zone"), [("\n", "America/Denver"), ("Asia/Tokyo\n", "Asia/Tokyo")]
    )
    def test_at_a_terminal_the_machine_s_zone_is_offered(
        self, settings, monkeypatch, typed, zone
    ):
        settings.MACHINE_TIME_ZONE = "America/Denver"
        terminal, out = StringIO(typed), StringIO()
        terminal.isatty = lambda: True
        monkeypatch.setattr("sys.stdin", terminal)

        call_command("set_time_zone", stdout=out)

        assert out.getvalue().startswith("Time zone [America/Denver]: ")
        assert Bakery.objects.get().time_zone == zone

    def test_without_a_terminal_it_says_what_to_write(self, monkeypatch):
        monkeypatch.setattr("sys.stdin", StringIO())

        with pytest.raises(CommandError, match="set_time_zone America/Chicago"):
            call_command("set_time_zone")


class TestPages:
    def test_every_page_asks_until_it_is_said_and_offers_the_machine_s(
        self, signed_in, settings
    ):
        settings.MACHINE_TIME_ZONE = "America/Denver"
        question = "Which time zone is the kitchen in?"

        asked = signed_in.get("/shelves/").content.decode()
        entry = {"time_zone": "America/Chicago", "back": "/shelves/"}
        saved = signed_in.post("/time-zone/", entry, follow=True)

        assert question in asked
        assert 'value="America/Denver"' in asked
        assert saved.redirect_chain == [("/shelves/", 302)]
        assert question not in saved.content.decode()
        assert Bakery.objects.get().time_zone == "America/Chicago"

    @pytest.mark.parametrize("named", ["", "Chicago", "x" * 70])
    def test_what_is_no_zone_is_refused_with_a_way_out(self, signed_in, named):
        saved = signed_in.post("/time-zone/", {"time_zone": named}, follow=True)

        assert saved.status_code == 200
        assert not Bakery.objects.exclude(time_zone="").exists()
        assert "notice-error" in saved.content.decode()

    def test_a_page_from_before_does_not_replace_what_somebody_set(self, signed_in):
        build.bakery(time_zone="America/Chicago")

        entry = {"time_zone": "America/Denver", "back": "/shelves/"}
        saved = signed_in.post("/time-zone/", entry, follow=True).content.decode()

        assert Bakery.objects.get().time_zone == "America/Chicago"
        assert "The time zone is America/Chicago already." in saved
        assert "Days are told" not in saved

    def test_the_same_zone_twice_is_no_clash(self, signed_in):
        entry = {"time_zone": "America/Denver", "back": "/shelves/"}
        signed_in.post("/time-zone/", entry)

        again = signed_in.post("/time-zone/", entry, follow=True).content.decode()

        assert "Days are told on the clock of America/Denver." in again
        assert "already" not in again

    def test_two_who_set_it_at_once_do_not_replace_each_other(
        self, signed_in, monkeypatch
    ):
        unset = build.bakery(time_zone="")
        Bakery.objects.update(time_zone="America/Chicago", version=unset.version + 1)
        read_before_that = SimpleNamespace(current=lambda: unset)
        monkeypatch.setattr(time_zone, "Bakery", read_before_that)

        entry = {"time_zone": "America/Denver", "back": "/shelves/"}
        saved = signed_in.post("/time-zone/", entry, follow=True).content.decode()

        assert Bakery.objects.get().time_zone == "America/Chicago"
        assert "The time zone is America/Chicago already." in saved

    def test_it_leads_back_to_this_site_alone(self, signed_in):
        entry = {"time_zone": "UTC", "back": "https://elsewhere.example/"}

        assert signed_in.post("/time-zone/", entry).url == "/"

    def test_nobody_is_asked_before_signing_in(self, client, db):
        assert "Which time zone" not in client.get("/sign-in/").content.decode()
