"""The trace of a lot, a delivery, an order or a cake: every step back and forward.

A record for each link, with the rows that say what it is; no sentence. Amounts are
exact, in the item's own base unit.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, tzinfo
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple

from django.db.models import Max, Sum

from planning.models import Bake, Delivery, DeliveryLine, PlannedCake, Recipe
from planning.tracing.graph import (
    BakeLink,
    Reached,
    in_portions,
    walk_back,
    walk_forward,
)
from stock.database.one_moment import one_moment
from stock.models import Bakery, Balance, Hold, Item, Lot, Movement, Place

ZERO = Decimal(0)
Kind = Movement.Kind


class StartKind(StrEnum):
    """What a trace begins with."""

    LOT = "lot"
    DELIVERY = "delivery"
    ORDER = "order"
    CAKE = "cake"


class Start(NamedTuple):
    """What a trace begins with: a kind of row, and its id."""

    kind: StartKind
    row_id: int


class LinkKind(StrEnum):
    """What a link says."""

    DELIVERED = "delivered"  # a supplier brought a lot
    FOUND = "found"  # a lot came without origin: imported, set, counted, received
    MADE = "made"  # a bake made a lot
    USED = "used"  # a bake used a lot
    GONE = "gone"  # a lot left for no bake: wasted, set, counted, used without one
    LEFT = "left"  # a lot lies in a place


@dataclass(frozen=True, slots=True)
class Link:
    """One step of a lot: from where, or into what. What does not apply is None."""

    kind: LinkKind
    lot: Lot  # its item is read
    amount_base: Decimal  # above zero, but what is left may be owed
    on: date | None  # on the bakery's clock; None: now
    bake: Bake | None = None  # its recipe's item and its planned cake are read
    delivery: Delivery | None = None  # its order and supplier are read
    place: Place | None = None
    movement_kind: str = ""  # of what was found or has gone
    is_held: bool = False  # of what is left: the lot is on hold


@dataclass(frozen=True, slots=True)
class Trace:
    """Everything that is recorded of where something came from and went."""

    start: Start
    start_lot_ids: tuple[int, ...]
    back: tuple[Link, ...]
    forward: tuple[Link, ...]
    left: tuple[Link, ...]  # of all lots, those at which it began first
    cakes: tuple[PlannedCake, ...]  # that it went into, the first due first


class _Sum(NamedTuple):
    amount_base: Decimal
    on: date


@dataclass(slots=True)
class _Read:
    """All rows that the links of a trace name, by id."""

    lots: dict[int, Lot] = field(default_factory=dict)
    bakes: dict[int, Bake] = field(default_factory=dict)
    sums: dict[int, dict[str, _Sum]] = field(default_factory=dict)  # by lot and kind
    deliveries: dict[int, list[DeliveryLine]] = field(default_factory=dict)  # by lot
    balances: list[Balance] = field(default_factory=list)
    held: set[int] = field(default_factory=set)


def read_trace(start: Start) -> Trace:
    """Return the trace of a row that is there, both ways.

    About ten queries, and two for each level of batches within batches, however many
    lots, batches and cakes (up to 10,000 of each a query).
    """
    with one_moment():
        return _trace(start)


def _trace(start: Start) -> Trace:
    lot_ids, bake_ids = _start_lots(start), _start_bakes(start)
    back, forward = walk_back(lot_ids, bake_ids), walk_forward(lot_ids)
    read = _read([*forward.lot_ids, *back.lot_ids], [*forward.bake_ids, *back.bake_ids])
    return Trace(
        start=start,
        start_lot_ids=tuple(lot_ids),
        back=tuple(_back(back, read)),
        forward=tuple(_forward(forward, read, set(lot_ids))),
        left=tuple(_left(read)),
        cakes=_cakes(forward, read),
    )


def _start_lots(start: Start) -> list[int]:
    if start.kind is StartKind.LOT:
        return [start.row_id]
    lines = DeliveryLine.objects.filter(
        delivery__undone_at=None, lot__isnull=False
    ).order_by("delivery_id", "pk")
    if start.kind is StartKind.DELIVERY:
        lines = lines.filter(delivery=start.row_id)
    elif start.kind is StartKind.ORDER:
        lines = lines.filter(delivery__order=start.row_id)
    else:
        return []
    return list(dict.fromkeys(lines.values_list("lot_id", flat=True)))


def _start_bakes(start: Start) -> list[int]:
    if start.kind is not StartKind.CAKE:
        return []
    bakes = Bake.objects.filter(planned_cake=start.row_id, undone_at=None)
    return list(bakes.values_list("pk", flat=True))


def _read(lot_ids: Collection[int], bake_ids: Collection[int]) -> _Read:
    lot_ids, bake_ids = dict.fromkeys(lot_ids), dict.fromkeys(bake_ids)
    read = _Read()
    zone = Bakery.current().zone
    for ids in in_portions(bake_ids):
        read.bakes |= Bake.objects.select_related("planned_cake").in_bulk(ids)
    _share_recipes(read)
    for ids in in_portions(lot_ids):
        found = Lot.objects.in_bulk(ids)
        read.lots |= {pk: found[pk] for pk in ids if pk in found}
        _read_sums(read, ids, zone)
        _read_deliveries(read, ids)
        balances = Balance.objects.filter(lot__in=ids).exclude(amount_base=0)
        order = ("place__walk_order", "pk")
        read.balances += balances.select_related("place").order_by(*order)
        held = Hold.objects.filter(lot__in=ids, released_at=None)
        read.held |= set(held.values_list("lot_id", flat=True))
    _share_items(read)
    return read


def _share_recipes(read: _Read) -> None:
    """Give all bakes of a recipe the same row of it: one for each would be slow."""
    bakes = read.bakes.values()
    planned = [row.planned_cake for row in bakes if row.planned_cake is not None]
    wanted = {row.recipe_id for row in bakes} | {row.cake_id for row in planned}
    recipes = Recipe.objects.select_related("item").in_bulk(wanted)
    for row in bakes:
        row.recipe = recipes[row.recipe_id]
    for cake in planned:
        cake.cake = recipes[cake.cake_id]


def _share_items(read: _Read) -> None:
    """Give all lots of an item the same row of it."""
    items = Item.objects.in_bulk({lot.item_id for lot in read.lots.values()})
    for lot in read.lots.values():
        lot.item = items[lot.item_id]


def _read_sums(read: _Read, lot_ids: Sequence[int], zone: tzinfo) -> None:
    """Read what moved of lots by kind; what was undone adds up to nothing."""
    rows = Movement.objects.order_by().filter(lot__in=lot_ids).exclude(kind=Kind.MOVED)
    for lot_id, kind, total_base, at in rows.values_list("lot_id", "kind").annotate(
        Sum("amount_base"), Max("at")
    ):
        by_kind = read.sums.setdefault(lot_id, {})
        by_kind[kind] = _Sum(total_base, at.astimezone(zone).date())


def _read_deliveries(read: _Read, lot_ids: Sequence[int]) -> None:
    rows = DeliveryLine.objects.filter(lot__in=lot_ids, delivery__undone_at=None)
    for line in rows.select_related("delivery__order__supplier").order_by(
        "delivery__received_on", "pk"
    ):
        read.deliveries.setdefault(line.lot_id or 0, []).append(line)


def _back(walk: Reached, read: _Read) -> Iterator[Link]:
    """Yield from where each lot came, the nearest first, then what each bake used."""
    made = _by_lot(walk.made)
    used: dict[int, list[BakeLink]] = defaultdict(list)
    for link in walk.used:
        used[link.bake_id].append(link)
    for lot_id in walk.lot_ids:
        yield from _origins(read, lot_id, made[lot_id])
    for bake_id in walk.bake_ids:
        yield from (_baked(LinkKind.USED, link, read) for link in used[bake_id])


def _origins(read: _Read, lot_id: int, made: Sequence[BakeLink]) -> Iterator[Link]:
    for link in made:
        yield _baked(LinkKind.MADE, link, read)
    lot, lines = read.lots[lot_id], read.deliveries.get(lot_id, [])
    for line in lines:
        yield Link(
            LinkKind.DELIVERED,
            lot,
            line.amount_base,
            line.delivery.received_on,
            delivery=line.delivery,
            place=line.place,
        )
    named = {
        Kind.RECEIVED: sum((line.amount_base for line in lines), ZERO),
        Kind.MADE: sum((link.amount_base for link in made), ZERO),
    }
    for kind, total in read.sums.get(lot_id, {}).items():
        amount_base = total.amount_base - named.get(Kind(kind), ZERO)
        if amount_base > 0:
            yield Link(LinkKind.FOUND, lot, amount_base, total.on, movement_kind=kind)


def _forward(walk: Reached, read: _Read, start_lot_ids: set[int]) -> Iterator[Link]:
    """Yield into what each lot went, the nearest first, then what each bake made."""
    used = _by_lot(walk.used)
    made: dict[int, list[BakeLink]] = defaultdict(list)
    for link in walk.made:
        made[link.bake_id].append(link)
    for lot_id in walk.lot_ids:
        yield from (_baked(LinkKind.USED, link, read) for link in used[lot_id])
        yield from _endings(read, lot_id, used[lot_id])
        if lot_id not in start_lot_ids:
            yield from _counted(read, lot_id)
    for bake_id in walk.bake_ids:
        yield from (_baked(LinkKind.MADE, link, read) for link in made[bake_id])


def _endings(read: _Read, lot_id: int, used: Sequence[BakeLink]) -> Iterator[Link]:
    by_bakes = sum((link.amount_base for link in used), ZERO)
    for kind, total in read.sums.get(lot_id, {}).items():
        amount_base = -total.amount_base - (by_bakes if kind == Kind.USED else ZERO)
        if amount_base > 0:
            lot = read.lots[lot_id]
            yield Link(LinkKind.GONE, lot, amount_base, total.on, movement_kind=kind)


def _counted(read: _Read, lot_id: int) -> Iterator[Link]:
    """Yield what a count found of a lot that was made: nobody knows from where."""
    total = read.sums.get(lot_id, {}).get(Kind.COUNTED)
    if total is not None and total.amount_base > 0:
        yield Link(
            LinkKind.FOUND,
            read.lots[lot_id],
            total.amount_base,
            total.on,
            movement_kind=Kind.COUNTED,
        )


def _left(read: _Read) -> Iterator[Link]:
    by_lot: dict[int, list[Balance]] = defaultdict(list)
    for row in read.balances:
        by_lot[row.lot_id].append(row)
    for lot_id, lot in read.lots.items():
        for row in by_lot[lot_id]:
            yield Link(
                LinkKind.LEFT,
                lot,
                row.amount_base,
                None,
                place=row.place,
                is_held=lot_id in read.held,
            )


def _cakes(walk: Reached, read: _Read) -> tuple[PlannedCake, ...]:
    bakes = (read.bakes[bake_id] for bake_id in walk.bake_ids)
    cakes = {row.planned_cake for row in bakes if row.planned_cake is not None}
    return tuple(sorted(cakes, key=lambda row: (row.due_on, row.reference)))


def _baked(kind: LinkKind, link: BakeLink, read: _Read) -> Link:
    bake = read.bakes[link.bake_id]
    return Link(kind, read.lots[link.lot_id], link.amount_base, bake.made_on, bake=bake)


def _by_lot(links: Iterable[BakeLink]) -> Mapping[int, list[BakeLink]]:
    found: dict[int, list[BakeLink]] = defaultdict(list)
    for link in links:
        found[link.lot_id].append(link)
    return found
