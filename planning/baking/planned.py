"""What a plan asks to be made, for those who say what was made."""

from datetime import date, datetime
from decimal import Decimal

from django.db.models import Exists, OuterRef, Sum

from planning.baking.bench import LEAST_BASE
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import Window
from planning.models import Bake
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery, Balance


def planned_batches(
    recipe_id: int, *, bakery: Bakery, as_of: datetime, on: date | None = None
) -> float:
    """Return the batches of a recipe that are still to be made on a day; 0 where none.

    Of a day in the past those of today. Five queries.
    """
    today = as_of.astimezone(bakery.zone).date()
    day = max(on or today, today)
    window = Window(as_of=as_of, from_on=today, days=(day - today).days + 1)
    kitchen = load_kitchen(bakery=bakery, as_of=as_of)
    return sum(
        row.batches
        for row in explode(kitchen, window).making
        if row.on == day and kitchen.nodes.ids[row.node] == recipe_id
    )


def newest_bake_id() -> int:
    """Return the id of the newest bake, for whoever reads a plan to say what it knew.

    0 where there is none. One query.
    """
    return Bake.objects.order_by("-pk").values_list("pk", flat=True).first() or 0


def below_nothing(bake: Bake) -> list[tuple[int, Decimal]]:
    """Return of what a bake took the record is now below nothing, in its own lots.

    Other lots may be above: those that are expired or on hold can't stand in for what
    was taken. By item id, how far below, in base units, by name. One query.
    """
    taken = bake.lines.order_by().filter(
        amount_base__lt=0, lot=OuterRef("lot"), place=OuterRef("place")
    )
    sums = (
        Balance.objects.order_by("item__name")
        .filter(Exists(taken), amount_base__lt=0)
        .values_list("item_id")
        .annotate(owed_base=Sum("amount_base"))
    )
    return [(item_id, -base) for item_id, base in sums if base <= -LEAST_BASE]
