"""How fast the bake plan explodes: each figure beside a yardstick of the same run.

Run as `python -m tests.benchmarks.bench_explosion [S M L]`; it prints a table, and
ends with 1 if a limit is broken or two ways give different figures.
"""

import sys
import time
import tracemalloc

import numpy as np

from planning.engine.demand import geometry
from planning.engine.demand.explosion import explode
from planning.engine.demand.planned import cake_takes
from planning.engine.demand.prepared import prepare
from planning.engine.kitchen import NodeKind
from tests.benchmarks.kitchens import SIZES_BY_NAME, kitchen_of, window_of
from tests.engine import recursive_sql
from tests.engine.gross import gross_needs, sweep

GROSS_LIMIT_RATIO = 7
NETTED_LIMIT_S = {"S": 0.1, "M": 0.1, "L": 3.0}
MEMORY_LIMIT_MB = 200
ROUNDS = 7
SAME_RTOL = 1e-9


def best_s(run, rounds=ROUNDS):
    """Return the shortest of several runs, in seconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def forget_sizes():
    geometry.parse_size.cache_clear()
    geometry.size_sums.cache_clear()


def gross_from_nothing(kitchen, window):
    forget_sizes()
    return gross_needs(prepare(kitchen, window))


def netted_from_nothing(kitchen, window):
    forget_sizes()
    explosion = explode(kitchen, window)
    return explosion, explosion.making


def sweep_s(kitchen, window):
    """Return the time of the bare sweep over matrices that stand ready."""
    prepared = prepare(kitchen, window)
    takes = cake_takes(
        prepared.planned,
        prepared.bill,
        prepared.made_column,
        prepared.planned.quantity,
        prepared.takes_shape,
    )
    return best_s(lambda: sweep(prepared, takes))


def without_parts(kitchen):
    """Return the columns of the kitchen's bought items that no part comes from.

    The query knows no largest of several; wholes are compared by the tests.
    """
    nodes = kitchen.nodes
    return np.setdiff1d(np.flatnonzero(nodes.kind == NodeKind.BOUGHT), nodes.whole)


def is_same(kitchen, window, by_query):
    needed = gross_from_nothing(kitchen, window)
    after_from = prepare(kitchen, window).days.after_from.tolist()
    bought = without_parts(kitchen).tolist()
    asked = np.zeros_like(needed)
    column_of = {day: column for column, day in enumerate(after_from)}
    for (node, day), amount in by_query.items():
        asked[node, column_of[day]] = amount
    return np.allclose(needed[bought], asked[bought], rtol=SAME_RTOL, atol=1e-6)


def peak_mb(run):
    tracemalloc.start()
    run()
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak_bytes / 1e6


def measure(name):
    """Print one size's row, and return what is wrong with it."""
    size = SIZES_BY_NAME[name]
    kitchen, window = kitchen_of(size), window_of(size)
    bare_s = sweep_s(kitchen, window)
    gross_s = best_s(lambda: gross_from_nothing(kitchen, window))
    netted_s = best_s(lambda: netted_from_nothing(kitchen, window), rounds=3)
    memory_mb = peak_mb(lambda: netted_from_nothing(kitchen, window))
    database = recursive_sql.connect(kitchen, window)
    start = time.perf_counter()
    by_query = recursive_sql.gross(database)
    query_s = time.perf_counter() - start
    ratio = gross_s / bare_s
    print(
        f"{name:>4} {bare_s * 1e3:>9.2f} {gross_s * 1e3:>9.2f} {ratio:>7.1f} "
        f"{netted_s * 1e3:>10.1f} {memory_mb:>8.1f} {query_s * 1e3:>10.1f} "
        f"{query_s / gross_s:>9.1f}"
    )
    wrong = {
        f"{name}: gross over {GROSS_LIMIT_RATIO} x the bare sweep": (
            ratio > GROSS_LIMIT_RATIO
        ),
        f"{name}: netted over {NETTED_LIMIT_S[name]} s": netted_s
        > NETTED_LIMIT_S[name],
        f"{name}: over {MEMORY_LIMIT_MB} MB": memory_mb > MEMORY_LIMIT_MB,
        f"{name}: the query finds other figures": not is_same(
            kitchen, window, by_query
        ),
    }
    return [sentence for sentence, is_wrong in wrong.items() if is_wrong]


def main(names):
    print("size  sweep ms  gross ms   ratio  netted ms  peak MB   query ms  q/gross")
    wrong = [sentence for name in names for sentence in measure(name)]
    for sentence in wrong:
        print(sentence)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or list(SIZES_BY_NAME)))
