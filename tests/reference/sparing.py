"""What comes early, is out of date by then, and still helps: used first, it spares.

Tried out with far more than anybody needs on the deliveries before a lack.
"""

from datetime import date
from fractions import Fraction

from tests.reference.explosion import NO_LACK
from tests.reference.kitchen import Item, Kitchen, Pack
from tests.reference.projection import Bought, Day, ItemPlan, project


def is_before(delivery, kind: str, day: date) -> bool:
    """Whether a delivery is there by a day, in date then or not."""
    return (delivery.usable_on if kind == "out" else delivery.deliver_on) <= day


def plenty(used: dict[date, Fraction], item: Item) -> Fraction:
    """More than an item could want: its use, safety and par, many times."""
    wanted = sum(used.values(), Fraction(0)) + (item.safety or 0) + (item.par or 0)
    return 10 * wanted + 10_000


def remedy(
    kitchen: Kitchen,
    plan: ItemPlan,
    kind: str,
    first: date,
    level: Fraction,
    choices: list[tuple],
):
    """The delivery to order by, if those from it on take a lack away together."""
    used = {day.day: day.used for day in plan.days}
    best_liked = sorted(choices, key=lambda choice: liking(choice[1]))
    bought: list[Bought] = []
    for delivery, _ in sorted(
        best_liked, key=lambda choice: -choice[0].order_by.timestamp()
    ):
        amount = plenty(used, plan.item)
        bought.append(Bought(amount, delivery.deliver_on, delivery.usable_on))
        days = project(kitchen, plan.item, used, list(used), bought).days
        (day,) = [day for day in days if day.day == first]
        if lacking(kind, day, level) < NO_LACK:
            return delivery
    return None


def lacking(kind: str, day: Day, level: Fraction) -> Fraction:
    return day.outstanding if kind == "out" else level - day.closing


def liking(pack: Pack) -> tuple:
    return not pack.preferred, pack.price / pack.holds, pack.supplier.casefold()
