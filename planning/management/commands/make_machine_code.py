"""`manage.py make_machine_code`: what a search would otherwise do before it begins."""

from time import perf_counter
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.engine.ordering.search import call_kernels
from planning.management.planning_command import PlanningCommand


class Command(PlanningCommand):
    help = gettext_noop(
        "Makes the machine code of the search and keeps it for the next processes."
    )
    requires_system_checks = ()

    def handle(self, **_options: Any) -> None:
        began_s = perf_counter()
        call_kernels()
        self.stdout.write(
            _("Ready after {perf_counter:.1f} s.").format(
                perf_counter=perf_counter() - began_s
            )
        )
