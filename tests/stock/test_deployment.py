"""The files for a machine that serves others, tried on this one."""

import http.client
import os
import subprocess
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from stock.backups import records
from stock.deployment import readiness
from tests.elsewhere import manage
from tests.stock.behind_proxy import (
    HOST,
    Browser,
    command_of,
    environment_of,
    free_port,
    make_certificate,
    needed,
    proxy_of,
    served,
    wait_until,
)


@pytest.fixture
def certificate(tmp_path):
    """A certificate of our own for the host, and its key."""
    key, certificate = tmp_path / "key.pem", tmp_path / "certificate.pem"
    make_certificate(certificate, key)
    return certificate, key


@pytest.fixture
def folder(tmp_path, certificate, monkeypatch, capsys):
    """The files as the command writes them for this machine."""
    folder = tmp_path / "deploy"
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path / 'kitchen.sqlite3'}")
    call_command(
        "deploy_files",
        out=str(folder),
        host=HOST,
        bind=f"127.0.0.1:{free_port()}",
        backups=str(tmp_path / "backups"),
        certificate=str(certificate[0]),
        key=str(certificate[1]),
    )
    return folder


@pytest.fixture
def kitchen(folder):
    """The kitchen as the unit starts it, with ada in it; ends with the test."""
    given = {
        **{k: v for k, v in os.environ.items() if k != "DEBUG"},
        **environment_of(folder),
    }
    for words in (
        ["migrate", "--verbosity=0"],
        ["createsuperuser", "--noinput", "--username=ada", "--email=a@kitchen.example"],
    ):
        subprocess.run(
            [*command_of(folder / "tierlarder.service")[:2], *words],
            env=given | {"DJANGO_SUPERUSER_PASSWORD": "flour-and-water"},
            check=True,
            capture_output=True,
        )
    with served(folder / "tierlarder.service", given, settings.BASE_DIR):
        yield given


@pytest.fixture
def proxy(folder, kitchen, tmp_path):
    """The proxy in front of it, on ports that are free here; yields plain and TLS."""
    site = (folder / "tierlarder.nginx.conf").read_text()
    with proxy_of(site, tmp_path) as ports:
        yield ports


def test_somebody_signs_in_behind_the_proxy(proxy, certificate):
    plain, tls = proxy
    browser = Browser(tls, certificate[0])

    answer, page = browser.ask("GET", "/sign-in/")
    assert (
        answer.status,
        "max-age" in answer.headers["Strict-Transport-Security"],
    ) == (
        200,
        True,
    )
    assert browser.sign_in("ada", "flour-and-water").status == 302
    today, page = browser.ask("GET", "/kitchen/")
    assert (today.status, "Signed in as ada" in page) == (200, True)

    unencrypted = http.client.HTTPConnection("127.0.0.1", plain)
    unencrypted.request("GET", "/", headers={"Host": HOST})
    moved = unencrypted.getresponse()
    unencrypted.close()
    assert (moved.status, moved.headers["Location"]) == (301, f"https://{HOST}/")


def test_no_log_keeps_the_secret_of_a_calendar(proxy, certificate, tmp_path):
    browser = Browser(proxy[1], certificate[0])
    unencrypted = http.client.HTTPConnection("127.0.0.1", proxy[0])

    answer, _ = browser.ask("GET", "/calendar.ics?key=hush")
    unencrypted.request("GET", "/calendar.ics?key=hush", headers={"Host": HOST})
    moved = unencrypted.getresponse()
    unencrypted.close()
    browser.ask("GET", "/sign-in/")

    assert (answer.status, moved.status) == (404, 301)
    log = tmp_path / "access.log"
    wait_until(lambda: "/sign-in/" in log.read_text(), "nothing is logged")
    assert "hush" not in log.read_text()


def test_the_nightly_backup_is_one_that_restores(kitchen, folder, tmp_path):
    done = subprocess.run(
        command_of(folder / "tierlarder-backup.service"),
        cwd=settings.BASE_DIR,
        env=kitchen,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr

    [backup] = records.finished(tmp_path / "backups")
    restored = manage("restore", backup, url=f"sqlite:///{tmp_path / 'back.sqlite3'}")

    assert restored.stdout.startswith("Restored: the kitchen as of ")


def test_systemd_finds_nothing_wrong_with_the_units(folder):
    units = sorted(str(path) for path in folder.glob("tierlarder*.[st]*[er]"))
    assert [Path(unit).suffix for unit in units] == [".service", ".timer", ".service"]

    done = subprocess.run(
        [needed("systemd-analyze"), "verify", *units],
        capture_output=True,
        text=True,
        check=False,
    )

    ours = [line for line in done.stderr.splitlines() if "tierlarder" in line]
    assert ours == []


def test_the_settings_can_be_read_by_their_owner_alone(folder):
    path = folder / "tierlarder.env"

    assert path.stat().st_mode & 0o777 == 0o600
    assert len(environment_of(folder)["SECRET_KEY"]) >= 50


def test_the_commands_that_are_printed_reach_the_database_that_was_given(
    tmp_path, monkeypatch, capsys
):
    def first_command(folder):
        call_command("deploy_files", out=str(tmp_path / folder), host=HOST)
        return next(
            line for line in capsys.readouterr().out.splitlines() if line[:3] == "1. "
        )

    monkeypatch.delenv("DATABASE_URL", raising=False)
    assert first_command("beside").endswith(" manage.py migrate")
    monkeypatch.setenv("DATABASE_URL", "postgresql://baker@db.example/kitchen")
    there = tmp_path / "given"
    assert first_command("given") == f"1. set -a; . {there}/tierlarder.env; set +a"


def test_nothing_is_overwritten(folder):
    before = {path: path.read_bytes() for path in folder.iterdir()}

    with pytest.raises(CommandError, match="already exists"):
        call_command("deploy_files", out=str(folder), host=HOST)

    assert {path: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    "host", ["https://kitchen.example", "kitchen", "kitchen.example:443", "a b.example"]
)
def test_what_is_no_name_of_a_site_is_refused(tmp_path, host):
    with pytest.raises(CommandError, match="isn't the name of a site"):
        call_command("deploy_files", out=str(tmp_path / "new"), host=host)

    assert not (tmp_path / "new").exists()


def test_a_path_with_a_meaning_of_its_own_is_refused(tmp_path):
    with pytest.raises(CommandError, match=r"backups: .* holds a sign"):
        call_command(
            "deploy_files", out=str(tmp_path / "new"), host=HOST, backups="/a;b"
        )


def test_a_folder_with_a_meaning_of_its_own_is_refused(tmp_path):
    with pytest.raises(CommandError, match=r"out: .* holds a sign"):
        call_command("deploy_files", out=str(tmp_path / "a %h b"), host=HOST)

    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db
def test_a_kitchen_for_this_machine_alone_is_not_served_to_others(settings):
    settings.IS_PUBLIC = False

    with pytest.raises(CommandError, match="Nobody else may reach this kitchen yet"):
        call_command("serve")


def test_a_database_that_is_not_up_to_date_is_said(tmp_path, folder):
    done = manage("serve", "--check", url=f"sqlite:///{tmp_path / 'empty.sqlite3'}")

    assert done.returncode == 2
    assert "The database is not up to date." in done.stderr


@pytest.mark.django_db
def test_a_program_without_its_files_is_said(monkeypatch):
    monkeypatch.setattr(readiness, "A_STATIC_FILE", "stock/gone.css")

    assert [
        fault for fault in readiness.faults() if "install the program anew" in fault
    ]
