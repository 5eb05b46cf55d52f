"""`manage.py plan`: what will be needed, what runs short and what to buy."""

import json
from argparse import ArgumentParser
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.management.plan_arguments import (
    add_plan_arguments,
    plan_from_arguments,
)
from planning.management.planning_command import PlanningCommand
from planning.plan.plan_json import plan_as_json
from planning.wording.plan_text import plan_as_text


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Says what the coming cakes need, what runs short and what to order."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_plan_arguments(parser)
        parser.add_argument(
            "--json", action="store_true", dest="as_json", help=_("everything, as JSON")
        )

    def handle(self, **options: Any) -> None:
        planned = plan_from_arguments(options, self.stderr)
        if options["as_json"]:
            plan = plan_as_json(planned)
            self.stdout.write(json.dumps(plan, ensure_ascii=False, indent=1))
        else:
            self.stdout.write(plan_as_text(planned))
