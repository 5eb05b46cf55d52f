"""`manage.py made`: batches of a recipe were made; one line in, one line out."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import uuid4

from django.core.management.base import CommandError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.baking.entries import Baker, MakeEntry
from planning.baking.errors import AskedError
from planning.baking.making import make_recipe, recorded
from planning.baking.planned import newest_bake_id, planned_batches
from planning.baking.telling import made_sentences
from planning.management.planning_command import PlanningCommand
from planning.models import Recipe
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError
from stock.management import count_arguments
from stock.models import Bakery
from stock.wording.names import capitalized, unknown

CONFIRM = gettext_noop("With --confirm what was asked about stands.")


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Records that a recipe was made: its ingredients are taken, the earliest "
        "use-by first, and what it yields is on hand. Default: the batches of the plan."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("recipe", metavar="RECIPE", help=_("its name"))
        parser.add_argument("--batches", type=_number, metavar="N", help="2, 0.5")
        parser.add_argument("--on", type=_day, help=_("the day; default today"))
        parser.add_argument("--key", help=_("the same key again makes nothing more"))
        parser.add_argument(
            "--confirm", action="store_true", help=_("what is asked about is so")
        )
        count_arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        recipe, bakery = _recipe(options["recipe"]), Bakery.current()
        by_id = count_arguments.person_id(options["by"])
        entry = _entry(recipe, bakery, options)
        try:
            bake = make_recipe(entry, Baker(bakery, by_id, options["on"]))
        except AskedError as error:
            raise CommandError(f"{error} {CONFIRM}") from error
        self.stdout.write(" ".join(made_sentences(bake, bakery)))


def _entry(recipe: Recipe, bakery: Bakery, options: dict[str, Any]) -> MakeEntry:
    """Return what was made: the batches said, else recorded by this key, else planned.

    The newest bake is read before the plan, and the key after it: a bake that is
    recorded meanwhile is asked about, and one of the same key is found.
    """
    seen, now = newest_bake_id(), timezone.now()
    planned = planned_batches(recipe.pk, bakery=bakery, as_of=now, on=options["on"])
    key = options["key"] or f"command {uuid4()}"
    batches, known = options["batches"], recorded(key)
    if batches is None and known is not None:
        batches = known.batches
    elif batches is None and not planned:
        raise CommandError(
            capitalized(
                _("{name}: none is planned. Say how many: --batches N.").format(
                    name=recipe.item.name
                )
            )
        )
    return MakeEntry(
        recipe.pk,
        Decimal(repr(planned)) if batches is None else batches,
        key,
        planned_batches=planned,
        seen_bake_id=seen,
        confirmed=options["confirm"],
    )


def _recipe(name: str) -> Recipe:
    recipes = Recipe.objects.select_related("item")
    found = recipes.filter(item__name__iexact=name.strip()).first()
    if found is None:
        names = recipes.filter(item__retired=False).values_list("item__name", flat=True)
        raise CommandError(unknown("recipe", name, names))
    return found


def _number(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation as error:
        raise ArgumentTypeError(
            _('"{text}" isn\'t a number of batches. Try 2 or 0.5.').format(text=text)
        ) from error


def _day(text: str) -> date:
    try:
        return Day().parse(text)
    except CellError as error:
        raise ArgumentTypeError(str(error)) from error
