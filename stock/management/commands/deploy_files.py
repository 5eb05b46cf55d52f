"""`manage.py deploy_files`: what a machine needs to serve the kitchen to others."""

import getpass
import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from shlex import quote as quote_for_shell
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.deployment.writing import Machine, write_files
from stock.management.commands.serve import BIND
from stock.management.plain_command import PlainCommand

UPLOAD_MB = 20
NIGHTS_KEPT = 14
# `enable` makes systemd read the units, so that no command of its own has to.
STEPS = (
    "{python} manage.py migrate",
    "{python} manage.py createsuperuser",
    "sudo cp {folder}/tierlarder*.service {folder}/tierlarder*.timer"
    " /etc/systemd/system/",
    "sudo systemctl enable --now tierlarder.service tierlarder-backup.timer",
    "sudo cp {folder}/tierlarder.nginx.conf /etc/nginx/conf.d/",
    "sudo systemctl reload nginx",
)
# Where the database is not the one that commands use by themselves.
SETTINGS_STEP = "set -a; . {folder}/tierlarder.env; set +a"


class Command(PlainCommand):
    help = gettext_noop(
        "Writes a systemd unit, a nightly backup timer, a proxy's file and the "
        "settings into a folder, and prints how to put them to use."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--out", required=True, metavar="DIR", help=_("a new folder")
        )
        parser.add_argument(
            "--host", required=True, metavar="NAME", help=_("like kitchen.example.com")
        )
        parser.add_argument(
            "--backups", metavar="DIR", help=_("where backups go; default: beside it")
        )
        parser.add_argument(
            "--certificate", metavar="FILE", help=_("of the name, for the proxy")
        )
        parser.add_argument("--key", metavar="FILE", help=_("the certificate's key"))
        parser.add_argument(
            "--bind",
            default=BIND,
            metavar="ADDRESS:PORT",
            help=_("default: {bind}").format(bind=BIND),
        )

    def handle(self, *, out: str, host: str, **options: Any) -> None:
        folder = Path(out)
        machine = _machine(host, options)
        for path in write_files(machine, folder):
            self.stdout.write(str(path))
        self.stdout.write(_("Then, as root where it says sudo:"))
        for number, step in enumerate(_steps(machine, folder), start=1):
            self.stdout.write(f"{number}. {step}")
        self.stdout.write(
            _(
                "The certificate is read from {certificate}; get one for {host} "
                "before the last step."
            ).format(certificate=machine.certificate, host=machine.host)
        )


def _steps(machine: Machine, folder: Path) -> list[str]:
    given = [SETTINGS_STEP] if _given_database() else []
    return [
        step.format(
            folder=quote_for_shell(str(folder.resolve())),
            python=quote_for_shell(machine.python),
        )
        for step in [*given, *STEPS]
    ]


def _machine(host: str, options: dict[str, Any]) -> Machine:
    base = settings.BASE_DIR
    backups = options["backups"] or base.parent / "tierlarder-backups"
    return Machine(
        host=host,
        user=getpass.getuser(),
        python=sys.executable,
        base=str(base),
        bind=options["bind"],
        backups=str(Path(backups).absolute()),
        keep=NIGHTS_KEPT,
        database_url=_database_url(),
        certificate=options["certificate"]
        or f"/etc/letsencrypt/live/{host}/fullchain.pem",
        key=options["key"] or f"/etc/letsencrypt/live/{host}/privkey.pem",
        upload_mb=UPLOAD_MB,
    )


def _database_url() -> str:
    """Return the database that the command runs on, for the settings."""
    beside = quote((settings.BASE_DIR / "kitchen.sqlite3").as_posix())
    return _given_database() or f"sqlite:///{beside}"


def _given_database() -> str:
    return os.environ.get("DATABASE_URL", "").strip()
