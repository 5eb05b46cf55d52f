"""From README to a kitchen behind TLS with nightly backups, command by command.

The commands are README's own and those that `deploy_files` prints. Three things are
not as on a real machine, for want of root and of systemd. `sudo cp` writes below the
test's own folder where it says /etc. What `systemctl` is asked for is noted, and the
test then starts what the units name, with the settings file but without their folder
for caches. The program and the proxy listen on ports that are free here.
"""

import os
import re
import shutil
import sqlite3
import subprocess
from contextlib import closing

import pytest
from django.conf import settings
from django.db import connection

from tests.stock.behind_proxy import (
    Browser,
    command_of,
    environment_of,
    free_port,
    make_certificate,
    needed,
    proxy_of,
    served,
)

pytestmark = [
    pytest.mark.usefixtures("fresh_machine"),
    pytest.mark.skipif(
        connection.vendor != "sqlite", reason="README's database is the embedded one"
    ),
]

HOST = "kitchen.example.com"  # as in README
PASSWORD = "flour-and-water"
MOST_COMMANDS = 10
NOT_THE_PROGRAM = (
    ".git",
    ".venv",
    ".*_cache",
    ".hypothesis",
    "__pycache__",
    "*.sqlite3*",
)
SETTINGS_OF_TESTS = {
    *("ALLOWED_HOSTS", "DATABASE_URL", "DEBUG", "DJANGO_ALLOW_ASYNC_UNSAFE"),
    *("DJANGO_SETTINGS_MODULE", "MACHINE_CODE_DIR", "PYTHONPATH", "SECRET_KEY"),
}
# Stands for root: what would be written below /etc goes below the test's own folder.
SUDO = """#!/bin/sh
for word; do
  shift
  case "$word" in /etc/*) word="$MACHINE$word";; esac
  set -- "$@" "$word"
done
exec "$@"
"""
SYSTEMCTL = """#!/bin/sh
echo "$@" >>"$MACHINE/systemctl.log"
"""


class Machine:
    """A folder that stands for a machine: its /etc, its programs, and the program."""

    def __init__(self, folder):
        self.folder, self.base = folder, folder / "tierlarder"
        self.etc, programs = folder / "etc", folder / "bin"
        for part in ("systemd/system", "nginx/conf.d", f"letsencrypt/live/{HOST}"):
            (self.etc / part).mkdir(parents=True)
        programs.mkdir()
        for name, text in (("sudo", SUDO), ("systemctl", SYSTEMCTL)):
            (programs / name).write_text(text)
            (programs / name).chmod(0o755)
        shutil.copytree(
            settings.BASE_DIR,
            self.base,
            ignore=shutil.ignore_patterns(*NOT_THE_PROGRAM),
        )
        given = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_TESTS}
        path = f"{programs}:{given['PATH']}"
        self.environment = given | {"PATH": path, "MACHINE": str(folder)}

    def run(self, command, **more):
        """Carry a command out as typed where README's reader is; return its words."""
        done = subprocess.run(
            [needed("bash"), "-c", command],
            cwd=self.base,
            env=self.environment | more,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
        return done.stdout

    def answer(self, command, answers):
        """Carry out a command that asks at a terminal, and answer what it asks."""
        terminal = subprocess.Popen(
            [needed("script"), "-qec", command, "/dev/null"],
            cwd=self.base,
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        said = ""
        for question, answer in answers:
            while question not in said:
                piece = os.read(terminal.stdout.fileno(), 1_000).decode()
                assert piece, said
                said += piece
            said = said.rpartition(question)[2]
            terminal.stdin.write(f"{answer}\n".encode())
            terminal.stdin.flush()
        rest, _ = terminal.communicate()
        assert terminal.returncode == 0, said + rest.decode()


def commands_in(lines):
    """Return single commands: what `&&` joins is two."""
    return [command for line in lines for command in line.split(" && ")]


def readme_commands():
    text = (settings.BASE_DIR / "README.md").read_text(encoding="utf-8")
    _, _, section = text.partition("### For phones and other machines")
    return commands_in(
        re.search(r"```sh\n(.*?)```", section, re.DOTALL)[1].splitlines()
    )


def printed_commands(said):
    return commands_in(re.findall(r"^\d+\. (.*)$", said, re.MULTILINE))


def every_row(path):
    """Return what a database holds, but for who is signed in."""
    with closing(sqlite3.connect(path)) as database:
        tables = database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' "
            "AND name NOT IN ('django_session', 'sqlite_sequence') ORDER BY name"
        )
        return {
            name: database.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall()  # noqa: S608
            for (name,) in tables.fetchall()
        }


def test_readme_leads_to_a_kitchen_behind_tls_whose_nightly_backup_restores(
    tmp_path, figure
):
    machine = Machine(tmp_path)
    certificate = machine.etc / "letsencrypt/live" / HOST / "fullchain.pem"
    make_certificate(certificate, certificate.with_name("privkey.pem"), HOST)

    *installing, writing = readme_commands()
    for command in installing:
        machine.run(command)
    said = machine.run(f"{writing} --bind 127.0.0.1:{free_port()}")
    printed = printed_commands(said)
    for command in printed:
        if command.endswith("createsuperuser"):
            machine.answer(
                command,
                [
                    ("Username", "ada"),
                    ("Email", ""),
                    ("Password:", PASSWORD),
                    ("Password (again):", PASSWORD),
                ],
            )
        else:
            machine.run(command)

    commands = len(installing) + 1 + len(printed)
    assert commands <= MOST_COMMANDS, [*installing, writing, *printed]
    assert (tmp_path / "systemctl.log").read_text().splitlines() == [
        "enable --now tierlarder.service tierlarder-backup.timer",
        "reload nginx",
    ]
    units = machine.etc / "systemd/system"
    verify_units(units)
    settings_given = machine.environment | environment_of(machine.base / "deploy")
    site = (machine.etc / "nginx/conf.d/tierlarder.nginx.conf").read_text()
    site = site.replace("/etc/letsencrypt", f"{machine.etc}/letsencrypt")
    with (
        served(units / "tierlarder.service", settings_given, machine.base),
        proxy_of(site, tmp_path) as (_, tls),
    ):
        enter_something(Browser(tls, certificate, HOST))
        subprocess.run(
            command_of(units / "tierlarder-backup.service"),
            cwd=machine.base,
            env=settings_given,
            check=True,
            capture_output=True,
        )
    rows = rehearse_restore(machine)
    figure(
        f"From README to a kitchen behind TLS with nightly backups: {commands} "
        f"commands; its backup restored with all of its {rows} rows"
    )


def verify_units(folder):
    units = sorted(map(str, folder.iterdir()))
    assert [unit.rpartition("/")[2] for unit in units] == [
        "tierlarder-backup.service",
        "tierlarder-backup.timer",
        "tierlarder.service",
    ]
    done = subprocess.run(
        [needed("systemd-analyze"), "verify", *units],
        capture_output=True,
        text=True,
        check=False,
    )
    assert not [line for line in done.stderr.splitlines() if "tierlarder" in line]
    timer = (folder / "tierlarder-backup.timer").read_text()
    assert "OnCalendar=*-*-* 02:00:00" in timer


def enter_something(browser):
    assert browser.sign_in("ada", PASSWORD).status == 302
    answer, page = browser.ask("GET", "/kitchen/")
    assert (answer.status, "Signed in as ada" in page) == (200, True)
    added = browser.send("/shelves/places/add/", place="walk-in", walk_order="1")
    assert added.status == 302


def rehearse_restore(machine):
    """Restore as README says, into an empty place; return how many rows are equal."""
    [backup] = (machine.folder / "tierlarder-backups").glob("*.sqlite3")
    place = machine.folder / "rehearsal.sqlite3"
    command = f".venv/bin/python manage.py restore {backup}"
    said = machine.run(command, DATABASE_URL=f"sqlite:///{place}")
    assert said.startswith("Restored: the kitchen as of ")
    kitchen, restored = (
        every_row(path) for path in (machine.base / "kitchen.sqlite3", place)
    )
    assert restored == kitchen
    assert [row[1] for row in kitchen["stock_place"]] == ["walk-in"]
    return sum(map(len, kitchen.values()))
