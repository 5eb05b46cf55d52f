"""What it costs that an acknowledged change is on the disk: FULL beside NORMAL.

Run: python -m tests.benchmarks.bench_durable [--folder DIR] [--rounds 7]

Single entries are sent one by one, as a phone does. Then counts of 66 lines (about the
demo's weekly one) and of 400 are posted, half of their lines off the record. All that
is done on a new SQLite file in DIR, which decides how much a sync costs: name a folder
on the disk that the kitchen will be on. By turns with synchronous=FULL, which is what
the program sets, and with NORMAL, which syncs only when the journal is put away.
"""

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks import bench_counting
from tests.benchmarks.bench_counting import NOON
from tests.benchmarks.scratch import open_database

LINES = (66, 400)
ENTRIES = 30
MODES = ("FULL", "NORMAL")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", help="default: the machine's own for such files")
    parser.add_argument("--rounds", type=int, default=7)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=wanted.folder) as folder:
        open_database(Path(folder) / "bench.sqlite3")
        _send()  # warms the caches
        # What was counted stays on record, so that the largest come last.
        taken = _by_turns(_send, wanted.rounds)
        _say("one entry sent", {m: [s / ENTRIES for s in taken[m]] for m in MODES})
        for mode in MODES:
            a_second = ENTRIES / statistics.median(taken[mode])
            print(f"  {a_second:,.0f} entries a second with {mode}", flush=True)
        for lines in LINES:
            taken = _by_turns(lambda lines=lines: _post(lines), wanted.rounds)
            _say(f"a count of {lines} lines posted", taken)
    return 0


def _by_turns(work, rounds):
    """Return the seconds of each round, by mode."""
    taken = {mode: [] for mode in MODES}
    for _ in range(rounds):
        for mode in MODES:
            _set(mode)
            taken[mode].append(work())
    return taken


def _set(mode):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA synchronous = {mode}")


def _post(lines):
    """Count and post a kitchen of so many lines; return the seconds of posting."""
    from stock.counts import counting

    count, entries = _counted(lines)
    counting.take_entries(entries, at=NOON)
    counting.send_to_review(count.pk)
    started = time.perf_counter()
    counting.post_count(count.pk, at=NOON)
    return time.perf_counter() - started


def _send():
    """Return the seconds that it takes to send entries one by one."""
    from stock.counts import counting

    _, entries = _counted(ENTRIES)
    started = time.perf_counter()
    for entry in entries:
        counting.take_entries([entry], at=NOON)
    return time.perf_counter() - started


def _counted(lines):
    """Return an open count of a shelf, and an entry for each of its lines."""
    from stock.counts import counting

    place, items = bench_counting._kitchen("durable", lines)
    count = counting.open_count(counted_at=NOON, at=NOON, place_ids=[place.pk])
    entries = [
        bench_counting._entry(
            count.pk, place.pk, item.pk, f"{1_000 + at % 2} g", "phone", at
        )
        for at, item in enumerate(items)
    ]
    return count, entries


def _say(what, taken):
    full, normal = (statistics.median(taken[mode]) * 1000 for mode in MODES)
    print(
        f"{what}: {full:.1f} ms with FULL, {normal:.1f} with NORMAL "
        f"({full - normal:+.1f})"
    )


if __name__ == "__main__":
    sys.exit(main())
