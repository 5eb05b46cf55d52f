"""Keeping the bake plan: which cakes are due, in which size, on which day."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.entry.sheets import BAKE_PLAN
from planning.errors import PlanningError
from planning.models import PlannedCake
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key, folded
from stock.models import Item
from stock.saving import upsert
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import set_seen

SAME_NAMED_FIELDS = ("due_time", "size", "quantity", "status", "note")
# What stays as it was once a cake is baked.
OF_A_BAKED_CAKE = ("due", "cake", "size", "quantity", "status")

BAKE_IT = gettext_lazy(
    "Mark it as baked on its page, so that it takes what it is made of."
)


class CakeBakedError(PlanningError):
    """A cake that is baked stays baked, so that its use of stock stays explained."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _(
                "{reference} is baked already. Copy it to plan the same cake again."
            ).format(reference=reference)
        )
        self.reference = reference


def keep_planned_cakes(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store lines of the bake plan; return what was added, changed and left alone.

    See `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[PlannedCake] = Keeping(
            BAKE_PLAN, entries, own, rows=rows, ids=ids
        )
        items = upsert.by_name(Item.objects.all())
        cakes = {
            key: item for key, item in items.items() if item.kind == Item.Kind.CAKE
        }
        stored = PlannedCake.objects.select_related("cake__item")
        for row in kept.match(stored, planned_cake_entry):
            _check_cake(kept, row, cakes, items)
            _refuse_baked(kept, row)
            if ids is not None:
                _refuse_baking(kept, row)
        kept.write(
            kept.sound_rows(),
            _assign,
            PlannedCake,
            ["reference", "due_on", "cake", *SAME_NAMED_FIELDS],
        )
    return kept.kept()


@transaction.atomic
def set_status(planned_id: int, status: str, *, seen: int | None = None) -> None:
    """Confirm, cancel or reopen a planned cake. A baked one stays baked.

    Refused if it is no longer the version that was seen. What bakes a cake takes what
    it is made of too: `planning.baking.making.bake_cake`.
    """
    wanted = PlannedCake.Status(status)
    if wanted == PlannedCake.Status.BAKED:
        raise ValueError("bake_cake bakes a cake")
    planned = upsert.hold(PlannedCake, planned_id)
    if planned.status == PlannedCake.Status.BAKED:
        raise CakeBakedError(planned.reference)
    set_seen(planned, seen, status=wanted)


def planned_cake_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return the bake plan as entries, by day and reference. One query."""
    planned = PlannedCake.objects.select_related("cake__item").order_by(
        "due_on", "reference"
    )
    if ids is not None:
        planned = planned.filter(pk__in=ids)
    return [planned_cake_entry(each) for each in planned]


def planned_cake_entry(planned: PlannedCake) -> dict[str, Any]:
    """Return one line of the bake plan as an entry."""
    return {
        "reference": planned.reference,
        "due": planned.due_on,
        "cake": planned.cake.item.name,
        **{name: getattr(planned, name) for name in SAME_NAMED_FIELDS},
    }


def _assign(planned: PlannedCake, row: Row[PlannedCake]) -> None:
    planned.reference = row.after["reference"]
    planned.due_on = row.after["due"]
    planned.cake_id = row.links["cake"].pk
    for name in SAME_NAMED_FIELDS:
        setattr(planned, name, row.after[name])


def _refuse_baking(kept: Keeping[PlannedCake], row: Row[PlannedCake]) -> None:
    """Refuse to bake on a form what would then take nothing from the shelves."""
    was = row.stored.status if row.stored else ""
    if row.after["status"] == PlannedCake.Status.BAKED != was:
        kept.fault(row, "status", str(BAKE_IT))


def _refuse_baked(kept: Keeping[PlannedCake], row: Row[PlannedCake]) -> None:
    """Refuse what would make another cake of one that is baked; a note may be added."""
    if row.stored is None or row.stored.status != PlannedCake.Status.BAKED:
        return
    for column in OF_A_BAKED_CAKE:
        if row.says(column) and row.changes(column):
            kept.fault(row, column, str(CakeBakedError(row.stored.reference)))


def _check_cake(
    kept: Keeping[PlannedCake],
    row: Row[PlannedCake],
    cakes: Mapping[Key, Item],
    items: Mapping[Key, Item],
) -> None:
    other = items.get((folded(row.after["cake"] or ""),))
    if other is not None and other.kind != Item.Kind.CAKE:
        kept.fault(
            row,
            "cake",
            _(
                "No cake is called {name}. Plan a cake that takes it, or mark its "
                "recipe as a cake."
            ).format(name=other.name),
        )
        return
    kept.find(row, "cake", cakes, space=upsert.NAMES, noun="cake")
