"""`manage.py serve`: the kitchen for others, checked first, behind a proxy."""

import importlib.util
import os
import sys
from argparse import ArgumentParser
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.deployment import readiness
from stock.deployment.errors import DeploymentError
from stock.management.plain_command import PlainCommand

BIND = "127.0.0.1:8000"
# A page takes a part of a second, a large upload some seconds; more is a hang.
TIMEOUT_SECONDS = 120
THREADS = 4


class Command(PlainCommand):
    help = gettext_noop(
        "Checks settings, database and files, then serves the kitchen with several "
        "workers. It listens on this machine only: a proxy with a certificate stands "
        "in front of it, see deploy_files."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--bind",
            default=BIND,
            metavar="ADDRESS:PORT",
            help=_("default: {bind}").format(bind=BIND),
        )
        parser.add_argument(
            "--workers", type=int, default=3, metavar="N", help=_("default: 3")
        )
        parser.add_argument(
            "--check",
            action="store_true",
            help=_("only say whether it could be served"),
        )

    def handle(self, *, bind: str, workers: int, check: bool, **_options: Any) -> None:
        faults = readiness.faults()
        if importlib.util.find_spec("gunicorn") is None:
            faults.append(_("gunicorn is missing: pip install --editable '.[server]'"))
        if workers < 1:
            faults.append(
                _("--workers: {workers} would serve nobody. Write 1 or more.").format(
                    workers=workers
                )
            )
        if faults:
            raise DeploymentError(" ".join(faults))
        self.stdout.write(_("Settings, database and files are ready."))
        if check:
            return
        self.stdout.flush()
        command = [
            *(sys.executable, "-m", "gunicorn", "stock.site.wsgi"),
            *("--bind", bind, "--workers", str(workers)),
            *("--worker-class", "gthread", "--threads", str(THREADS)),
            *("--timeout", str(TIMEOUT_SECONDS)),
        ]
        os.execv(sys.executable, command)  # noqa: S606 (this very Python)
