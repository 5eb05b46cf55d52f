"""How fast stored balances read, beside a plain table of as many rows as items.

Run: python -m tests.benchmarks.bench_ledger [--movements 1000000] [--items 3000]

Works in a SQLite file that is thrown away. Every figure is the best of a few rounds
in this one run; the ratio is what is judged, and the exit code is 1 where it is over.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

LARGEST_RATIO = 8.0
ROUNDS = 15
MOVEMENTS_A_POST = 50_000
FIRST_AT = datetime(2026, 1, 1, tzinfo=UTC)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--movements", type=int, default=1_000_000)
    parser.add_argument("--items", type=int, default=3_000)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        _open_database(Path(folder) / "bench.sqlite3")
        seconds = _seconds(lambda: _fill(wanted.items, wanted.movements), rounds=1)
        print(
            f"{wanted.movements:,} movements of {wanted.items:,} items recorded "
            f"in {seconds:.1f} s ({wanted.movements / seconds:,.0f} a second)"
        )
        ratio = _compare(FIRST_AT + timedelta(seconds=wanted.movements))
    print(f"balances : plain table  {ratio:.2f}  (at most {LARGEST_RATIO:g})")
    return 0 if ratio <= LARGEST_RATIO else 1


def _open_database(path: Path) -> None:
    os.environ["DATABASE_URL"] = f"sqlite:///{path}"
    os.environ["DJANGO_SETTINGS_MODULE"] = "stock.site.settings"
    os.environ.pop("DEBUG", None)  # with it on, every query is kept in memory
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)


def _fill(items: int, movements: int) -> None:
    """Record a year of coming and going: one lot an item, in one place."""
    from django.db import connection

    from stock.ledger import ledger
    from stock.models import Item, Place

    place = Place.objects.create(name="shelf")
    ids = [
        item.pk
        for item in Item.objects.bulk_create(
            Item(name=f"item {number}", measure="mass") for number in range(items)
        )
    ]
    lots = ledger.lots_for(ledger.LotKey(item_id) for item_id in ids)
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE plain (id integer PRIMARY KEY, amount integer)")
        cursor.executemany(
            "INSERT INTO plain VALUES (%s, %s)", [(item_id, 1) for item_id in ids]
        )
    for start in range(0, movements, MOVEMENTS_A_POST):
        ledger.record(
            [
                ledger.NewMovement(
                    item_id=(item_id := ids[number % items]),
                    place_id=place.pk,
                    lot_id=lots[ledger.LotKey(item_id)],
                    kind="received" if number % 3 else "used",
                    amount_base=Decimal(number % 997 + 1) * (1 if number % 3 else -1),
                    at=FIRST_AT + timedelta(seconds=number),
                )
                for number in range(start, min(start + MOVEMENTS_A_POST, movements))
            ]
        )


def _compare(last_at: datetime) -> float:
    from django.db import connection

    from stock.ledger import levels, verifying

    def plain() -> list[tuple[int, int]]:
        with connection.cursor() as cursor:
            cursor.execute("SELECT id, amount FROM plain")
            return cursor.fetchall()

    def sums() -> list[tuple[int, int]]:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT item_id, SUM(amount_base) FROM stock_movement GROUP BY item_id"
            )
            return cursor.fetchall()

    plain_s = _seconds(plain)
    balances_s = _seconds(levels.on_hand_base_by_shelf)
    an_hour_ago = last_at - timedelta(hours=1)
    reads = {
        "plain table": plain_s,
        "balances by shelf": balances_s,
        "lots on hand": _seconds(levels.lots_on_hand),
        "by shelf, an hour ago": _seconds(
            lambda: levels.on_hand_base_by_shelf(at=an_hour_ago)
        ),
        "sums of all movements": _seconds(sums, rounds=3),
        "the whole proof": _seconds(verifying.verify_ledger, rounds=1),
    }
    for name, seconds in reads.items():
        print(f"{name:<24}{seconds * 1000:10.2f} ms{seconds / plain_s:10.1f} x")
    return balances_s / plain_s


def _seconds(work: Callable[[], object], *, rounds: int = ROUNDS) -> float:
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


if __name__ == "__main__":
    sys.exit(main())
