"""How long the answer to "can we take it?" takes, once the plan is loaded.

Times are in milliseconds, median and worst over many cakes of five made-up kitchens,
each asked for on every day of the plan in turn; `again` is the whole plan with the cake
in it, without orders. Run it with

    python -m tests.benchmarks.bench_promise
"""

import statistics
import sys
from datetime import timedelta
from time import perf_counter
from unittest.mock import patch

import numpy as np

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NodeKind
from planning.engine.scenarios.one_more import OneMore, with_cake
from planning.engine.scenarios.promise import PromiseAnswer, Promiser
from planning.engine.shelves.projection import project
from planning.engine.shortfalls.shortfalls import find_shortfalls
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.benchmarks import kitchens

SEEDS = range(5)
CAKES_ASKED = 40
FLOOR_MS = {"M": 150.0}


def ms_of(call):
    start = perf_counter()
    result = call()
    return 1_000 * (perf_counter() - start), result


def asks(kitchen, window):
    """Return cakes of every kind, in every size, on the days of the plan in turn."""
    cakes = np.flatnonzero(kitchen.nodes.kind == NodeKind.CAKE).tolist()
    return [
        OneMore(
            cakes[n % len(cakes)],
            kitchens.SIZES[n % len(kitchens.SIZES)],
            window.from_on + timedelta(days=n % window.days),
            float(1 + n % 3),
        )
        for n in range(CAKES_ASKED)
    ]


def planned_again(kitchen, window, one_more, deliveries):
    """Work out the whole plan with the cake, without orders."""
    with_it = with_cake(kitchen, window, one_more)
    explosion = explode(with_it, window)
    projection = project(with_it, window, explosion.demand)
    return find_shortfalls(
        with_it, window, projection, explosion.cakes_behind, deliveries
    )


def measured(name, seed):
    """Return the times of the answers, those of whole plans, and the answers."""
    size = kitchens.SIZES_BY_NAME[name]
    with patch.object(kitchens, "SEED", seed):
        kitchen, window = kitchens.kitchen_of(size), kitchens.window_of(size)
    explosion = explode(kitchen, window)
    deliveries = possible_deliveries(kitchen, window)
    orders = usual_rule(kitchen, window, explosion.demand, deliveries).orders
    promiser = Promiser(explosion, window, deliveries, orders)
    times, again, answers = [], [], []
    for number, one_more in enumerate(asks(kitchen, window)):
        taken, promise = ms_of(lambda asked=one_more: promiser.ask(asked))
        times.append(taken)
        answers.append(promise.answer)
        if number < 5:
            call = (kitchen, window, one_more, deliveries)
            again.append(ms_of(lambda call=call: planned_again(*call))[0])
    return times, again, answers


def main():
    """Print a line a size; fail where an answer takes longer than it may."""
    print("size   median    worst    again   yes  if ordered   no")
    is_slow = False
    for name in kitchens.SIZES_BY_NAME if "L" in sys.argv else ("S", "M"):
        found = [measured(name, seed) for seed in SEEDS]
        times = [time for row in found for time in row[0]]
        again = [time for row in found for time in row[1]]
        answers = [answer for row in found for answer in row[2]]
        counts = [answers.count(answer) for answer in PromiseAnswer]
        print(
            f"{name:<4} {statistics.median(times):>8.1f} {max(times):>8.1f} "
            f"{statistics.median(again):>8.1f} "
            f"{counts[0]:>5} {counts[1]:>11} {counts[2]:>4}"
        )
        is_slow |= max(times) > FLOOR_MS.get(name, float("inf"))
    sys.exit(int(is_slow))


if __name__ == "__main__":
    main()
