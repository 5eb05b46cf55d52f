"""`manage.py demo`: a kitchen of our own invention, planned, ordered for and served."""

import os
import socket
import sqlite3
import sys
from argparse import ArgumentParser
from contextlib import closing
from datetime import date, datetime, time
from pathlib import Path
from textwrap import wrap
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.demo import build_sheets, counted_on
from planning.errors import PlanningError
from planning.exports.order_files import write_order_files
from planning.interchange.loading import load_kitchen
from planning.interchange.report_words import summary_sentence
from planning.management.planning_command import PlanningCommand
from planning.orders.order_sheets import suggested_sheets
from planning.plan.planner import Planned, make_plan
from planning.search.machine_code import make_in_background
from planning.wording.plan_text import WIDTH, plan_as_text
from stock.entry.calendar_cells import Day
from stock.models import Bakery

DATABASE_PATH = settings.BASE_DIR / "demo.sqlite3"
ORDERS_FOLDER = "kitchen-orders"
COUNTED_AT = time(20)  # the count is done when the ovens are off
USERNAME, PASSWORD = "baker", "three-tiers"  # only this machine can reach the demo
# What would open the demo to others, or show its insides.
PUBLIC_SETTINGS = frozenset({"DEBUG", "ALLOWED_HOSTS", "TRUSTED_ORIGINS"})
FIRST_PORT, LAST_PORT = 8000, 8020


class DemoError(PlanningError):
    """The demo cannot be set up here."""


class Command(PlanningCommand):
    help = gettext_noop(
        "Makes a demo kitchen, plans it, writes its orders and serves its pages."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--no-serve",
            action="store_true",
            help=_("stop after the orders are written"),
        )
        parser.add_argument(
            "--out",
            default=ORDERS_FOLDER,
            metavar="DIR",
            help=_("the folder for the order files; default: {orders_folder}").format(
                orders_folder=ORDERS_FOLDER
            ),
        )
        parser.add_argument(
            "--fresh",
            action="store_true",
            help=_("start over, even if somebody worked in the demo that is there"),
        )
        parser.add_argument(
            "--today",
            metavar="DATE",
            help=_("the day it is in the demo; default: today"),
        )

    def handle(self, **options: Any) -> None:
        _run_on_own_database(fresh=options["fresh"])
        today = Day().parse(options["today"]) if options["today"] else None
        bakery, as_of = self._open(today)
        planned = make_plan(bakery=bakery, as_of=as_of)
        self.stdout.write(plan_as_text(planned))
        self._write_orders(planned, Path(options["out"]))
        if not options["no_serve"]:
            self._serve()

    def _open(self, today: date | None) -> tuple[Bakery, datetime]:
        """Fill the database if it is empty; return the bakery and the moment it is."""
        call_command("migrate", verbosity=0)
        make_in_background()
        bakery = Bakery.objects.first()
        if bakery is None:
            return self._set_up(today)
        self.stdout.write(
            _("{name} is as you left it in {name2}.").format(
                name=bakery.name, name2=DATABASE_PATH.name
            )
        )
        self.stdout.write(_("To start over: manage.py demo --fresh"))
        self.stdout.write("")
        return bakery, _moment(today, bakery)

    def _set_up(self, today: date | None) -> tuple[Bakery, datetime]:
        # Which day it is depends on the bakery's zone, which the sheets name; it is the
        # same on every day.
        sheets = build_sheets(date.today())  # noqa: DTZ011 (any day serves)
        unsaved = Bakery(time_zone=_zone_key(sheets))
        as_of = _moment(today, unsaved)
        counted_at = datetime.combine(
            counted_on(as_of.date()), COUNTED_AT, tzinfo=unsaved.zone
        )
        report = load_kitchen(build_sheets(as_of.date()), at=counted_at)
        get_user_model().objects.create_superuser(USERNAME, password=PASSWORD)
        bakery = Bakery.objects.get()
        self.stdout.write(
            _("{name} is set up in {name2}:").format(
                name=bakery.name, name2=DATABASE_PATH.name
            )
        )
        self.stdout.write("\n".join(wrap(summary_sentence(report), WIDTH)))
        self.stdout.write("")
        return bakery, as_of

    def _write_orders(self, planned: Planned, folder: Path) -> None:
        sheets = suggested_sheets(planned)
        paths = write_order_files(sheets, folder)
        self.stdout.write("")
        self.stdout.write(_("Order spreadsheets, in {folder}:").format(folder=folder))
        for path in paths:
            self.stdout.write(f"  {path.name}")
        self.stdout.flush()

    def _serve(self) -> None:
        port = _free_port()
        self.stdout.write("")
        self.stdout.write(
            _("Open http://127.0.0.1:{port}/ and sign in").format(port=port)
        )
        self.stdout.write(
            _("as {username} with the password {password}").format(
                username=USERNAME, password=PASSWORD
            )
        )
        self.stdout.write(_("Ctrl-C stops it."))
        self.stdout.flush()
        call_command(
            "runserver", f"127.0.0.1:{port}", use_reloader=False, skip_checks=True
        )


def _moment(today: date | None, bakery: Bakery) -> datetime:
    """Return now on the bakery's clock, on another day if one is given."""
    now = timezone.now().astimezone(bakery.zone)
    return now if today is None else datetime.combine(today, now.timetz())


def is_worked_in(path: Path) -> bool:
    """Whether anybody has ever signed in at the demo that is there.

    What cannot be read, as it is half made or damaged, is nobody's work.
    """
    if not path.exists():
        return False
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as demo:
            [(signed_in,)] = demo.execute(
                "SELECT EXISTS (SELECT 1 FROM auth_user WHERE last_login IS NOT NULL)"
            )
    except sqlite3.Error:
        return False
    return bool(signed_in)


def _run_on_own_database(*, fresh: bool) -> None:
    """Go on with the demo that somebody worked in, or start over on an empty one.

    The kitchen that DATABASE_URL names is somebody's; the demo never touches it.
    """
    if settings.DATABASES["default"]["NAME"] == str(DATABASE_PATH):
        return
    if fresh or not is_worked_in(DATABASE_PATH):
        _remove()
    environment = {
        name: value for name, value in os.environ.items() if name not in PUBLIC_SETTINGS
    }
    environment["DATABASE_URL"] = f"sqlite:///{DATABASE_PATH}"
    sys.stdout.flush()
    command = [sys.executable, *sys.orig_argv[1:]]
    os.execve(sys.executable, command, environment)  # noqa: S606 (this very program)


def _remove() -> None:
    try:
        for ending in ("", "-wal", "-shm"):
            Path(f"{DATABASE_PATH}{ending}").unlink(missing_ok=True)
    except OSError as error:
        raise DemoError(
            _(
                "{name} cannot be made anew: {strerror}. Stop the demo that is "
                "running, then try again."
            ).format(name=DATABASE_PATH.name, strerror=error.strerror)
        ) from error


def _zone_key(sheets: dict[str, list[dict[str, object]]]) -> str:
    settings_rows = sheets["Settings"]
    return next(
        str(row["value"]) for row in settings_rows if row["setting"] == "time_zone"
    )


def _free_port() -> int:
    for port in range(FIRST_PORT, LAST_PORT + 1):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port
    raise DemoError(
        _(
            "Every port from {first_port} to {last_port} is taken. Run the "
            "demo with --no-serve, or free one of them."
        ).format(first_port=FIRST_PORT, last_port=LAST_PORT)
    )
