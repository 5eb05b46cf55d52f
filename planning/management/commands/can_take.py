"""`manage.py can_take`: can one more cake be taken, and what would it need?

With `--json` exactly this, amounts as numbers in base units, dates and moments as
ISO 8601, money as text with two places:

    {"as_of": moment, "cake", "size", "date", "quantity", "currency",
     "answer": "yes from the shelves" | "yes if ordered" | "no", "sentence",
     "planned_to": the last day that orders are suggested for,
     "order_by": moment | null, "supplier": the one to order from first | null,
                 (for the cake; where the shelves are enough for it, for later cakes)
     "because":  [{"item", "unit", "date", "cause": "too late for any delivery" |
                   "no supplier sells it" | "should have been made already",
                   "short_by", "days_late"}],
     "orders":   [{"supplier", "order_by", "deliver_on", "is_new",
                   "for_later_cakes", "waiting": draft's reference | null,
                   "lines": [{"item", "code", "pack", "packs": suggested already,
                              "more_packs", "more_cost"}],
                   "more_fee", "filling_cost": counted to reach the minimum,
                   "more_cost": with both, "under_minimum"}],
     "ingredients_cost", "without_price": [item...],
     "short":    [{"item", "unit", "first_date", "more_short", "short_by", "cakes"}],
     "below_safety": [{"item", "unit", "first_date", "below_by", "more_below",
                       "made_good": by the suggested orders and what it adds}],
     "hurts":    [reference...]}  (short because of it, or shorter than before)
"""

import json
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.engine.scenarios.promise import PromiseAnswer
from planning.entry.sheets import BAKE_PLAN
from planning.management.plan_arguments import INCLUDE, LEAVE_OUT, read_moment
from planning.management.planning_command import PlanningCommand
from planning.plan.planner import make_plan
from planning.plan.telling import Telling
from planning.scenarios.promise import AskedCake, CakeAnswer, can_take
from planning.scenarios.promise_json import promise_as_json
from planning.search.searching import as_chosen
from planning.sentences.words import day_words, moment_words
from planning.wording.promise_words import (
    answer_words,
    below_safety_words,
    cost_words,
    horizon_words,
    hurt_words,
    later_words,
    left_over_words,
    line_words,
    named,
    order_notes,
    order_words,
    other_block_words,
    short_words,
)
from stock.models import Bakery


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Says whether one more cake can be taken: yes, yes if ordered by when, or no."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.formatter_class = RawDescriptionHelpFormatter
        parser.epilog = (__doc__ or "").partition("\n\n")[2]
        parser.add_argument("--cake", required=True, help=_("its name, as in Recipes"))
        parser.add_argument(
            "--size",
            default="",
            help=_("like '8 in round x 3'; default: the recipe's own"),
        )
        parser.add_argument(
            "--on", required=True, metavar="DATE", help=_("due day, like 2026-05-09")
        )
        parser.add_argument(
            "--quantity", default="1", metavar="N", help=_("default: 1")
        )
        parser.add_argument(
            "--at", metavar="MOMENT", help=_("as seen at this moment; default: now")
        )
        parser.add_argument(
            "--tentative",
            choices=[INCLUDE, LEAVE_OUT],
            default=INCLUDE,
            help=_("whether tentative cakes are planned for"),
        )
        parser.add_argument(
            "--json", action="store_true", dest="as_json", help=_("everything, as JSON")
        )

    def handle(self, **options: Any) -> None:
        bakery = Bakery.current()
        asked = _asked(options)
        planned = make_plan(
            bakery=bakery,
            as_of=read_moment(options["at"], bakery.zone),
            tentative=options["tentative"] == INCLUDE,
        )
        answered = can_take(as_chosen(planned), asked)
        tell = Telling(
            day=day_words, moment=lambda at: moment_words(at.astimezone(bakery.zone))
        )
        if options["as_json"]:
            said = answer_words(answered, tell), later_words(answered, tell)
            answer = promise_as_json(answered, " ".join(filter(None, said)))
            self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=1))
        else:
            self.stdout.write("\n".join(_lines(answered, tell)))


def _asked(options: Mapping[str, Any]) -> AskedCake:
    return AskedCake(
        cake=options["cake"],
        size=options["size"],
        due_on=BAKE_PLAN.column("due").read(options["on"]),
        quantity=float(BAKE_PLAN.column("quantity").read(options["quantity"])),
    )


def _lines(answered: CakeAnswer, tell: Telling) -> Iterator[str]:
    promise = answered.promise
    yield answer_words(answered, tell)
    yield from filter(None, [later_words(answered, tell)])
    yield from other_block_words(answered, tell)
    yield cost_words(answered)
    if promise.answer is not PromiseAnswer.NO and promise.orders:
        yield from filter(None, [horizon_words(answered, tell)])
        for order in promise.orders:
            yield f"{order_words(answered, order, tell)}:"
            for line in order.lines:
                yield f"  {line_words(answered, order, line)}"
            yield from (f"  {note}" for note in order_notes(answered, order))
    for short in promise.shorts:
        words = short_words(answered, short, tell)
        left_over = left_over_words(answered, short.node, tell)
        yield named(answered, short.node, f"{words} {left_over}".rstrip())
    for low in promise.below_safety:
        yield named(answered, low.node, below_safety_words(answered, low, tell))
    yield from hurt_words(answered, tell)
