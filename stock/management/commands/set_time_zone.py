"""Says which time zone the bakery is in: the first thing a new kitchen is asked."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.bakery import keep_settings, setting_rows
from stock.calendar.time_zones import UTC
from stock.entry.entries import EntryFaultsError
from stock.errors import StockError
from stock.management.plain_command import PlainCommand
from stock.models import Bakery


class TimeZoneError(StockError):
    """The time zone is not said, or there is none of that name."""


class Command(PlainCommand):
    help = gettext_noop(
        "Sets the bakery's time zone; without one it asks, and offers this machine's"
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "time_zone",
            nargs="?",
            metavar="ZONE",
            help=_("as the time zone database writes it, like America/Chicago"),
        )

    def handle(self, **options: Any) -> None:
        """Store the zone that was named, or that is answered."""
        named = options["time_zone"] or self._asked()
        try:
            keep_settings(setting_rows({"time_zone": named}))
        except EntryFaultsError as error:
            raise TimeZoneError(error.faults[0].message) from error
        self.stdout.write(
            _("Days are told on the clock of {zone}.").format(
                zone=Bakery.objects.get().zone
            )
        )

    def _asked(self) -> str:
        """Return what is answered at the terminal; blank takes what is offered."""
        guess = settings.MACHINE_TIME_ZONE if settings.MACHINE_TIME_ZONE != UTC else ""
        if not sys.stdin.isatty():
            example = guess or "America/Chicago"
            raise TimeZoneError(
                _("Name the zone: manage.py set_time_zone {example}").format(
                    example=example
                )
            )
        offer = f" [{guess}]" if guess else _(", like America/Chicago")
        self.stdout.write(_("Time zone{offer}: ").format(offer=offer), ending="")
        self.stdout.flush()
        return sys.stdin.readline().strip() or guess
