"""Open a count of some places, or of all."""

from argparse import ArgumentParser
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.counts import counting
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.models import Place


class Command(PlainCommand):
    tells_days = True
    help = gettext_noop(
        "Opens a count as of a moment: what moves after it stays on top when the "
        "count is posted."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--place",
            action="append",
            metavar="NAME",
            help=_("a place to count; may be given again; default: all places"),
        )
        parser.add_argument(
            "--at", metavar="MOMENT", help=_("like 2026-05-04T15:10; default: now")
        )
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        now = timezone.now()
        place_ids = None
        if options["place"]:
            places = arguments.places_named(options["place"], Place.objects.all())
            place_ids = [place.pk for place in places]
        count = counting.open_count(
            counted_at=arguments.moment(options["at"], now) if options["at"] else None,
            at=now,
            place_ids=place_ids,
            by_id=arguments.person_id(options["by"]),
        )
        walked = ", ".join(place.name for place in count.places.all())
        moment = arguments.local_words(count.counted_at)
        self.stdout.write(
            _("Count {pk} is open as of {moment}: {walked}.").format(
                pk=count.pk, moment=moment, walked=walked
            )
        )
