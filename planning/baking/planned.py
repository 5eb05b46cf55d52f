"""What a plan asks to be made, for those who say what was made."""

from datetime import date
from decimal import Decimal

from django.db.models import Sum
from django.utils import timezone

from planning.baking.bench import LEAST_BASE
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import Window
from planning.models import Bake, BakeLine
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery, Balance


def planned_batches(recipe_id: int, *, bakery: Bakery, on: date | None = None) -> float:
    """Return the batches of a recipe that are still to be made on a day; 0 where none.

    Of a day in the past those of today. Five queries.
    """
    now = timezone.now()
    today = now.astimezone(bakery.zone).date()
    day = max(on or today, today)
    window = Window(as_of=now, from_on=today, days=(day - today).days + 1)
    kitchen = load_kitchen(bakery=bakery, as_of=now)
    return sum(
        row.batches
        for row in explode(kitchen, window).making
        if row.on == day and kitchen.nodes.ids[row.node] == recipe_id
    )


def below_nothing(bake: Bake) -> list[tuple[int, Decimal]]:
    """Return what a bake took of which the record is now below nothing.

    By item id, how far below, in base units, by name. One query.
    """
    taken = BakeLine.objects.order_by().filter(bake=bake, amount_base__lt=0)
    sums = (
        Balance.objects.order_by("item__name")
        .filter(item__in=taken.values("lot__item"))
        .values_list("item_id")
        .annotate(on_hand_base=Sum("amount_base"))
    )
    return [(item_id, -base) for item_id, base in sums if base <= -LEAST_BASE]
