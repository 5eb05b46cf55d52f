"""`manage.py make_machine_code`: what a search would otherwise do before it begins."""

from time import perf_counter
from typing import Any

from planning.engine.ordering.search import call_kernels
from planning.management.planning_command import PlanningCommand


class Command(PlanningCommand):
    help = "Makes the machine code of the search and keeps it for the next processes."
    requires_system_checks = ()

    def handle(self, **_options: Any) -> None:
        began_s = perf_counter()
        call_kernels()
        self.stdout.write(f"Ready after {perf_counter() - began_s:.1f} s.")
