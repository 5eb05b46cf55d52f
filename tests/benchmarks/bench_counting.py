"""How fast counts are taken and posted, and what the slip catcher asks.

Run: python -m tests.benchmarks.bench_counting [--senders 20] [--lines 400]

Works in a SQLite file that is thrown away, or in the database that BENCH_DATABASE_URL
names. Exit code 1 where posting takes more than 20 queries, or an entry is lost or
doubled, or the slip catcher misses too much or asks too often.
"""

import argparse
import os
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from tests.benchmarks import bench_slips

MOST_QUERIES = 20
ENTRIES_A_SENDER = 60
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--senders", type=int, default=20)
    parser.add_argument("--lines", type=int, default=400)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        _open_database(Path(folder) / "bench.sqlite3")
        good = [_post(wanted.lines), _send(wanted.senders)]
    good.append(bench_slips.report(bench_slips.simulate(20_000, seed=4)))
    return 0 if all(good) else 1


def _open_database(path: Path) -> None:
    url = os.environ.get("BENCH_DATABASE_URL", f"sqlite:///{path}")
    os.environ["DATABASE_URL"] = url
    os.environ["DJANGO_SETTINGS_MODULE"] = "stock.site.settings"
    os.environ.pop("DEBUG", None)  # with it on, every query is kept in memory
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)


def _post(lines: int) -> bool:
    """Count and post a kitchen of so many lines, half of them off the record."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from stock.counts import counting

    place, items = _kitchen("posted", lines)
    count = counting.open_count(counted_at=NOON, at=NOON, place_ids=[place.pk])
    entries = [
        _entry(count.pk, place.pk, item.pk, f"{1_000 + at % 2} g", "phone", at)
        for at, item in enumerate(items)
    ]
    seconds, _ = _timed(lambda: counting.take_entries(entries, at=NOON))
    print(f"{lines} lines taken in one send     {seconds * 1000:8.0f} ms")
    seconds, _ = _timed(lambda: counting.sheets(count.pk))
    print(f"{lines} lines on the sheet          {seconds * 1000:8.0f} ms")
    seconds, _ = _timed(lambda: counting.review(count.pk))
    print(f"{lines} lines in the review         {seconds * 1000:8.0f} ms")
    counting.send_to_review(count.pk)
    with CaptureQueriesContext(connection) as queries:
        seconds, corrected = _timed(lambda: counting.post_count(count.pk, at=NOON))
    print(
        f"{lines} lines posted                {seconds * 1000:8.0f} ms, "
        f"{len(queries)} queries (at most {MOST_QUERIES}), {corrected} items corrected"
    )
    return len(queries) <= MOST_QUERIES and corrected == lines // 2


def _send(senders: int) -> bool:
    """Let so many counters send their sixty entries at the same moment, twice each."""
    from django.contrib.auth import get_user_model
    from django.db import connection

    from stock.counts import counting
    from stock.models import CountEntry

    place, items = _kitchen("sent", ENTRIES_A_SENDER)
    count = counting.open_count(counted_at=NOON, at=NOON, place_ids=[place.pk])
    people = [
        get_user_model().objects.create(username=f"counter {number}")
        for number in range(senders)
    ]
    start = threading.Barrier(senders)
    waits: list[float] = []

    def send(person: Any) -> None:
        entries = [
            _entry(count.pk, place.pk, item.pk, "5 g", person.username, at, person.pk)
            for at, item in enumerate(items)
        ]
        try:
            start.wait()
            for _ in range(2):
                waits.append(_timed(lambda: counting.take_entries(entries, at=NOON))[0])
        finally:
            connection.close()

    with ThreadPoolExecutor(senders) as pool:
        seconds, _ = _timed(lambda: list(pool.map(send, people)))
    stored = CountEntry.objects.filter(count=count).count()
    print(
        f"{senders} counters sent {ENTRIES_A_SENDER} entries each, twice, at once: "
        f"{seconds:.1f} s, the longest waited {max(waits):.1f} s, "
        f"{stored} stored of {senders * ENTRIES_A_SENDER}"
    )
    return stored == senders * ENTRIES_A_SENDER


def _kitchen(name: str, lines: int) -> tuple[Any, list[Any]]:
    from decimal import Decimal

    from stock.ledger import ledger
    from stock.models import Item, Place

    place = Place.objects.create(name=f"{name} {uuid4()}")
    items = Item.objects.bulk_create(
        Item(name=f"{name} {uuid4()}", measure="mass", place=place, walk_order=at)
        for at in range(lines)
    )
    lots = ledger.lots_for(ledger.LotKey(item.pk) for item in items)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=item.pk,
                place_id=place.pk,
                lot_id=lots[ledger.LotKey(item.pk)],
                kind="imported",
                amount_base=Decimal(1_000),
                at=NOON - timedelta(days=1),
            )
            for item in items
        ]
    )
    return place, items


def _entry(
    count_id: int,
    place_id: int,
    item_id: int,
    text: str,
    device: str,
    sequence: int,
    by_id: int | None = None,
) -> Any:
    from stock.counts.counting import EntryIn

    return EntryIn(
        key=uuid4(),
        count_id=count_id,
        place_id=place_id,
        item_id=item_id,
        text=text,
        entered_at=NOON,
        by_id=by_id,
        device=device,
        sequence=sequence,
    )


def _timed(work: Any) -> tuple[float, Any]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


if __name__ == "__main__":
    sys.exit(main())
