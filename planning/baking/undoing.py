"""Undoing a bake by counter-movements, as long as nothing later depends on it.

What it made must still be there, and nobody may have set or counted since what stands
on the shelves that it moved.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.baking.errors import BakeDependedOnError
from planning.baking.making import movement_key
from planning.models import Bake, BakeLine, PlannedCake
from planning.wording.bake_words import bake_words
from stock.ledger import ledger
from stock.ledger.levels import ZERO
from stock.ledger.said_since import Written, said_since_each
from stock.models import Balance, Movement
from stock.saving import upsert

USED = gettext_lazy("used or moved since")


@transaction.atomic
def undo_bake(bake_id: int, *, by_id: int | None = None) -> Bake:
    """Put back what a bake took and take back what it made, as of its own moment.

    A planned cake is again what it was before. Undoing again changes nothing. Refused
    where something has happened since. About 15 queries, however many lines.
    """
    upsert.wait_for_turn()
    rows = Bake.objects.select_related("recipe__item", "planned_cake")
    bake = rows.select_for_update(of=("self",)).get(pk=bake_id)
    if bake.undone_at is not None:
        return bake
    lines = list(bake.lines.select_related("lot__item", "place"))
    at = ledger.moment_after_lock(line.lot.item_id for line in lines)
    if reasons := list(dict.fromkeys(_reasons(lines))):
        raise BakeDependedOnError(bake_words(bake), reasons)
    _write_back(lines, by_id=by_id)
    bake.undone_at, bake.undone_by_id = at, by_id
    bake.save(update_fields=["undone_at", "undone_by"])
    if bake.planned_cake_id is not None:
        _set_back(bake.planned_cake_id, bake.was_status)
    return bake


def standing_in_the_way(bake: Bake) -> list[str]:
    """Return why a bake can't be undone; nothing where it can. Five queries."""
    lines = list(bake.lines.select_related("lot__item", "place"))
    return list(dict.fromkeys(_reasons(lines)))


def _reasons(lines: Sequence[BakeLine]) -> Iterator[str]:
    """Yield what stands in the way, the lots that are used first. Five queries."""
    if not lines:
        return
    own = list(_own_movements(lines).values_list("pk", "at"))
    yield from _used_since(lines)
    yield from _set_since(lines, max(pk for pk, _ in own), own[0][1])


def _used_since(lines: Sequence[BakeLine]) -> Iterator[str]:
    """Yield of which made lots less is there than would have to come off again."""
    net_base: dict[tuple[int, int], Decimal] = {}
    for line in lines:
        spot = (line.place_id, line.lot_id)
        net_base[spot] = net_base.get(spot, ZERO) + line.amount_base
    balances = Balance.objects.filter(lot_id__in={line.lot_id for line in lines})
    left_base = {(row.place_id, row.lot_id): row.amount_base for row in balances}
    for line in lines:
        spot = (line.place_id, line.lot_id)
        if net_base[spot] > max(left_base.get(spot, ZERO), ZERO):
            yield _named(line, str(USED))


def _set_since(
    lines: Sequence[BakeLine], newest: int, moved_at: datetime
) -> Iterator[str]:
    """Yield which shelves were set or counted of that moment or later."""
    line_by_shelf = {(line.lot.item_id, line.place_id): line for line in lines}
    written = [Written(*shelf, moved_at, newest) for shelf in line_by_shelf]
    said = said_since_each(written)
    for line, what in zip(line_by_shelf.values(), said, strict=True):
        if what:
            yield _named(line, what)


def _named(line: BakeLine, what: str) -> str:
    return _("{name} in {name2} was {what}").format(
        name=line.lot.item.name, name2=line.place.name, what=what
    )


def _own_movements(lines: Sequence[BakeLine]) -> QuerySet[Movement]:
    keys = [movement_key(line) for line in lines]
    return Movement.objects.filter(key__in=keys).order_by()


def _write_back(lines: Sequence[BakeLine], *, by_id: int | None) -> None:
    """Write counter-movements at the moment of what they undo.

    So a count that began since, and is posted later, stands as it was counted.
    """
    ledger.record(
        [
            ledger.NewMovement(
                item_id=row.item_id,
                place_id=row.place_id,
                lot_id=row.lot_id,
                kind=row.kind,
                amount_base=-row.amount_base,
                at=row.at,
                note=f"{row.note} undone",
                key=f"{row.key} undone",
                by_id=by_id,
            )
            for row in _own_movements(lines)
        ]
    )
    ledger.forget_undone({line.lot.item_id for line in lines})


def _set_back(planned_id: int, status: str) -> None:
    planned = upsert.hold(PlannedCake, planned_id)
    if planned.status == PlannedCake.Status.BAKED:
        planned.status = status
        planned.version += 1
        planned.save(update_fields=["status", "version"])
