"""How fast a lot is traced that went into hundreds of cakes.

Run: python -m tests.benchmarks.bench_trace [--movements 1000000] [--cakes 500]

Works in a SQLite file that is thrown away. It assumes one lot of butter in every layer,
a bake of layers for each cake and a bake of the cake itself (so two levels, and as many
made lots as cakes), and all other movements spread over other lots, a tenth of them
bakes of cakes too. The butter's lot is the oldest: what used it lies far apart. The
exit code is 1 where the links are read more slowly than judged.
"""

import argparse
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from tests.benchmarks.scratch import best_seconds, open_database

MOST_SECONDS = 0.3
A_PORTION = 20_000
FIRST_ON = date(2026, 1, 1)
NOON = datetime(2026, 1, 1, 12, tzinfo=UTC)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--movements", type=int, default=1_000_000)
    parser.add_argument("--cakes", type=int, default=500)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        open_database(Path(folder) / "bench.sqlite3")
        lot_id = _fill(wanted.movements, wanted.cakes)
        return _measure(lot_id, wanted.cakes)


def _measure(lot_id: int, cakes: int) -> int:
    from planning.models import BakeLine
    from planning.tracing.trace import Start, StartKind, read_trace
    from planning.wording.trace_words import trace_rows
    from stock.models import Movement

    start = Start(StartKind.LOT, lot_id)
    found = read_trace(start)
    assert len(found.cakes) == cakes
    read_s = best_seconds(lambda: read_trace(start))
    said_s = best_seconds(lambda: list(trace_rows(read_trace(start))))
    print(
        f"{Movement.objects.count():,} movements, {BakeLine.objects.count():,} lines "
        f"of bakes; one lot in {len(found.cakes):,} cakes, {len(found.forward):,} links"
    )
    print(f"links read   {read_s * 1000:8.1f} ms  (at most {MOST_SECONDS * 1000:g})")
    print(f"and as rows  {said_s * 1000:8.1f} ms")
    return 0 if read_s <= MOST_SECONDS else 1


def _fill(movements: int, cakes: int) -> int:
    """Bake the cakes first to last, the other movements between; return the lot."""
    from stock.ledger import ledger
    from stock.models import Place
    from tests import build

    build.bakery(time_zone="UTC")
    shelf = Place.objects.create(name="shelf")
    butter, other = build.item("butter"), build.item("other")
    layers = build.recipe("layers", lines=[(butter, 100)])
    cake = build.cake("cake", lines=[(layers.item, 100)])
    lot_id = ledger.lot_for(item_id=butter.pk, code="B-1", use_by=None)
    others = max(movements - 4 * cakes, 0) // 10 * 10
    rare = ledger.lots_for(
        ledger.LotKey(other.pk, None, f"O-{n}") for n in range(max(others // 500, 1))
    )
    _deliver(butter.pk, shelf.pk, lot_id)
    lots = list(rare.values())
    a_cake = others // max(cakes, 1)
    for number in range(cakes):
        _bake_a_cake((layers, cake, shelf.pk, lot_id), number)
        _move_others((other.pk, shelf.pk, lots), a_cake, number)
    _bake_others((layers, shelf.pk, lots), others // 10)
    return lot_id


def _deliver(item_id: int, place_id: int, lot_id: int) -> None:
    _record([(item_id, place_id, lot_id, "received", Decimal(10**8))])


def _bake_a_cake(kitchen, number: int) -> None:
    from planning.models import Bake, BakeLine
    from stock.ledger import ledger
    from tests import build

    layers, cake, place_id, lot_id = kitchen
    on = FIRST_ON + timedelta(days=number // 5)
    planned = build.planned_cake(cake, reference=f"{number}", due_on=on, status="baked")
    first, second = Bake.objects.bulk_create(
        Bake(
            recipe=recipe,
            planned_cake=made_for,
            key=key,
            batches=1,
            made_on=on,
            at=NOON,
        )
        for recipe, made_for, key in (
            (layers, None, f"layers {number}"),
            (cake, planned, f"cake {number}"),
        )
    )
    made = ledger.lot_for(item_id=layers.pk, code=first.lot_code, use_by=on)
    taken = [
        (first, lot_id, layers.lines.get().component_id, -100),
        (first, made, layers.pk, 1_000),
        (second, made, layers.pk, -900),
    ]
    BakeLine.objects.bulk_create(
        BakeLine(bake=bake, place_id=place_id, lot_id=lot, amount_base=amount)
        for bake, lot, _, amount in taken
    )
    _record(
        [
            (item_id, place_id, lot, "used" if amount < 0 else "made", Decimal(amount))
            for _, lot, item_id, amount in taken
        ]
    )


def _move_others(kitchen, many: int, number: int) -> None:
    item_id, place_id, lots = kitchen
    rows = [
        (
            item_id,
            place_id,
            lots[(number * many + n) % len(lots)],
            "received",
            Decimal(1),
        )
        for n in range(many)
    ]
    for start in range(0, len(rows), A_PORTION):
        _record(rows[start : start + A_PORTION])


def _bake_others(kitchen, many: int) -> None:
    from planning.models import Bake, BakeLine

    layers, place_id, lots = kitchen
    for start in range(0, many, A_PORTION):
        numbers = range(start, min(start + A_PORTION, many))
        bakes = Bake.objects.bulk_create(
            Bake(recipe=layers, key=f"other {n}", batches=1, made_on=FIRST_ON, at=NOON)
            for n in numbers
        )
        BakeLine.objects.bulk_create(
            BakeLine(
                bake=bake, place_id=place_id, lot_id=lots[n % len(lots)], amount_base=-1
            )
            for n, bake in zip(numbers, bakes, strict=True)
        )


def _record(rows) -> None:
    from stock.ledger import ledger

    ledger.record(
        [
            ledger.NewMovement(
                item_id=item_id,
                place_id=place_id,
                lot_id=lot_id,
                kind=kind,
                amount_base=amount,
                at=NOON,
            )
            for item_id, place_id, lot_id, kind, amount in rows
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
