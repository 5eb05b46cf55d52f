"""`manage.py look_for_orders`: the worker of a search that a page has started."""

from argparse import ArgumentParser
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.management.planning_command import PlanningCommand
from planning.models import OrderSearch
from planning.search.errors import NoSuchSearchError
from planning.search.searching import SECONDS_BETWEEN_SIGNS
from planning.search.worker import look_for_orders


class Command(PlanningCommand):
    help = gettext_noop(
        "Looks for the best orders, for a search that the Orders page has started."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("search", type=int, help=_("the number of the search"))

    def handle(self, **options: Any) -> None:
        try:
            look_for_orders(
                options["search"],
                now=timezone.now,
                sign_every_s=SECONDS_BETWEEN_SIGNS,
            )
        except OrderSearch.DoesNotExist as error:
            raise NoSuchSearchError from error
