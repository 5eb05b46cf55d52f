"""Which lots went into which bakes, and which lots bakes made, through every level.

Lots and bakes are followed whole: where a lot was refilled, or one bake made several
things, nobody knows which part went where, so all of it is followed. What was undone
is left out. Amounts are exact, in the item's own base unit, above zero.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from django.db.models import QuerySet, Sum

from planning.models import BakeLine

# SQLite takes 32,766 values in one query where nobody has set it higher.
IDS_A_QUERY = 10_000


class BakeLink(NamedTuple):
    """So much of a lot was used by a bake, or made by it."""

    lot_id: int
    bake_id: int
    amount_base: Decimal


@dataclass(slots=True)
class Reached:
    """What was reached from where the walk began, the nearest first."""

    lot_ids: dict[int, None] = field(default_factory=dict)  # where it began, too
    bake_ids: dict[int, None] = field(default_factory=dict)
    used: list[BakeLink] = field(default_factory=list)
    made: list[BakeLink] = field(default_factory=list)

    def add_lots(self, lot_ids: Iterable[int]) -> list[int]:
        """Note lots; return those that were not reached before."""
        return _add(self.lot_ids, lot_ids)

    def add_bakes(self, bake_ids: Iterable[int]) -> list[int]:
        """Note bakes; return those that were not reached before."""
        return _add(self.bake_ids, bake_ids)


def walk_forward(lot_ids: Iterable[int]) -> Reached:
    """Return the bakes that used lots, what these made, what used that, and so on.

    Two queries a level, however many lots (up to 10,000 a query). A circle ends.
    """
    walk = Reached()
    lots = walk.add_lots(lot_ids)
    while lots:
        used = list(used_lots(lots))
        walk.used += used
        bakes = walk.add_bakes(link.bake_id for link in used)
        made = list(bakes_made(bakes))
        walk.made += made
        lots = walk.add_lots(link.lot_id for link in made)
    return walk


def walk_back(lot_ids: Iterable[int] = (), bake_ids: Iterable[int] = ()) -> Reached:
    """Return the bakes that made lots, what these used, what made that, and so on.

    It may begin with bakes as well. Queries as for `walk_forward`.
    """
    walk = Reached()
    lots, bakes = walk.add_lots(lot_ids), walk.add_bakes(bake_ids)
    while lots or bakes:
        made = list(makers_of(lots))
        walk.made += made
        bakes += walk.add_bakes(link.bake_id for link in made)
        used = list(bakes_used(bakes))
        walk.used += used
        lots, bakes = walk.add_lots(link.lot_id for link in used), []
    return walk


def used_lots(lot_ids: Collection[int]) -> Iterator[BakeLink]:
    """Yield which bakes used some lots. One query."""
    for ids in in_portions(lot_ids):
        yield from _links(_used().filter(lot__in=ids), sign=-1)


def bakes_used(bake_ids: Collection[int]) -> Iterator[BakeLink]:
    """Yield which lots some bakes used. One query."""
    for ids in in_portions(bake_ids):
        yield from _links(_used().filter(bake__in=ids), sign=-1)


def makers_of(lot_ids: Collection[int]) -> Iterator[BakeLink]:
    """Yield which bakes made some lots. One query."""
    for ids in in_portions(lot_ids):
        yield from _links(_made().filter(lot__in=ids), sign=1)


def bakes_made(bake_ids: Collection[int]) -> Iterator[BakeLink]:
    """Yield which lots some bakes made. One query."""
    for ids in in_portions(bake_ids):
        yield from _links(_made().filter(bake__in=ids), sign=1)


def in_portions(ids: Collection[int]) -> Iterator[list[int]]:
    """Yield ids in as few lists as a query can be asked for at once."""
    rows = list(ids)
    for start in range(0, len(rows), IDS_A_QUERY):
        yield rows[start : start + IDS_A_QUERY]


def _used() -> QuerySet[BakeLine]:
    return BakeLine.objects.filter(bake__undone_at=None, amount_base__lt=0)


def _made() -> QuerySet[BakeLine]:
    return BakeLine.objects.filter(bake__undone_at=None, amount_base__gt=0)


def _links(lines: QuerySet[BakeLine], *, sign: int) -> Iterator[BakeLink]:
    """Yield a link for each lot and bake, whatever places and lines it stands in."""
    rows = lines.order_by("bake__made_on", "bake_id", "lot_id").values_list(
        "lot_id", "bake_id"
    )
    for lot_id, bake_id, total_base in rows.annotate(Sum("amount_base")):
        yield BakeLink(lot_id, bake_id, sign * total_base)


def _add(known: dict[int, None], ids: Iterable[int]) -> list[int]:
    fresh = [each for each in dict.fromkeys(ids) if each not in known]
    known.update(dict.fromkeys(fresh))
    return fresh
