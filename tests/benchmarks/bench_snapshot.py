"""How long it takes to read a plan's data, beside bare cursor fetches of the same rows.

Run: python -m tests.benchmarks.bench_snapshot [S M L]

Works in a SQLite file that is thrown away. Both are the best of a few rounds in this
one run; the ratio is what is judged at M and L, and the exit code is 1 where it is
over.
"""

import sys
import tempfile
from pathlib import Path

from tests.benchmarks.scratch import best_seconds, open_database

LARGEST_RATIO = 3.5
JUDGED = ("M", "L")


def main(names):
    with tempfile.TemporaryDirectory() as folder:
        open_database(Path(folder) / "bench.sqlite3")
        ratios = {name: _ratio_of(name) for name in names}
    over = [name for name in JUDGED if ratios.get(name, 0) > LARGEST_RATIO]
    return 1 if over else 0


def _ratio_of(name):
    from django.core.management import call_command
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from planning.plan.snapshot import load_kitchen
    from tests.benchmarks.kitchens import SIZES_BY_NAME, kitchen_of, window_of
    from tests.benchmarks.stored_kitchens import store, without_repeats

    size = SIZES_BY_NAME[name]
    _empty(connection, call_command)
    bakery = store(without_repeats(kitchen_of(size)), size)
    as_of = window_of(size).as_of
    connection.force_debug_cursor = True
    with CaptureQueriesContext(connection) as captured:
        load_kitchen(bakery=bakery, as_of=as_of)
    connection.force_debug_cursor = False
    statements = [query["sql"] for query in captured.captured_queries]

    def fetch():
        with connection.cursor() as cursor:
            rows = 0
            for statement in statements:
                cursor.cursor.execute(statement)
                rows += len(cursor.cursor.fetchall())
        return rows

    raw = best_seconds(fetch)
    ours = best_seconds(lambda: load_kitchen(bakery=bakery, as_of=as_of))
    print(
        f"{name}: {fetch():,} rows in {len(statements)} queries, bare {raw * 1e3:.1f} "
        f"ms, read into columns {ours * 1e3:.1f} ms, ratio {ours / raw:.2f}"
        + (f" (at most {LARGEST_RATIO:g})" if name in JUDGED else "")
    )
    return ours / raw


def _empty(connection, call_command):
    from stock.ledger import guard

    guard.remove(connection)
    call_command("flush", interactive=False, verbosity=0)
    guard.install(connection)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or ["S", "M", "L"]))
