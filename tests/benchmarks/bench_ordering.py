"""How good and how fast the best orders are, beside the usual rule.

One row a bakery: the usual rule's cost and ours (goods and fees less what is left over
is worth), by how much ours is lower, the gap that is proven, deliveries of both, and
the seconds. Seconds are of this process's own work, so that other programs on the
machine do not count; `--wall` takes the clock on the wall. With `--whole` a second row
says what the solver alone makes of the whole model in the same time, on the wall: its
cost, by how much that is lower than the usual rule's, its gap, its deliveries. Run it
with

    python -m tests.benchmarks.bench_ordering small medium large --seeds 5
    python -m tests.benchmarks.bench_ordering small --seeds 5 --whole
    python -m tests.benchmarks.bench_ordering medium --seeds 5 --seconds 30
"""

import argparse
import dataclasses
import resource
import statistics
import time
from datetime import date

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import USUAL
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import NO_WISHES
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.benchmarks.bakeries import SIZES, bakery
from tests.engine.ordering.plain_milp import trucks_in, whole_model
from tests.engine.simulator import simulate

SECONDS = {"small": 10, "medium": 60, "large": 180}
FLOORS = {"small": 0.0025, "medium": 0.01, "large": 0.03}


def cost_of(kitchen, window, demand, deliveries, purchasing):
    problem = read_problem(kitchen, window, demand, deliveries, NO_WISHES)
    place_of = {pack.pack_id: n for n, pack in enumerate(kitchen.packs)}
    truck_of = {
        (truck.supplier, truck.deliver_on): n for n, truck in enumerate(problem.trucks)
    }
    counts = {
        (truck_of[order.supplier, order.deliver_on], place_of[line.pack.pack_id]): (
            line.packs
        )
        for order in purchasing.orders
        for line in order.lines
    }
    return Selector(problem).of_counts(counts)


def measured(size, seed, clock, limit, *, is_whole_asked):
    """Print one row; return the saving, the gap and the seconds to the first orders."""
    kitchen, window = bakery(size, seed)
    demand = explode(kitchen, window).demand
    deliveries = possible_deliveries(kitchen, window)
    usual = usual_rule(kitchen, window, demand, deliveries)
    told, start = [], clock()
    effort = dataclasses.replace(USUAL, seconds=limit)
    ours = best_orders(
        kitchen,
        window,
        demand,
        deliveries,
        effort=effort,
        clock=clock,
        on_progress=lambda progress: told.append(clock() - start),
    )
    seconds = clock() - start
    by_rule = cost_of(kitchen, window, demand, deliveries, usual)
    best = cost_of(kitchen, window, demand, deliveries, ours)
    saving = 1 - best.cost / by_rule.cost
    print(
        f"{size:<7}{seed:>4} {by_rule.cost:>10.2f} {best.cost:>10.2f} {saving:>7.1%}"
        f" {ours.proof.gap:>7.2%} {len(usual.orders):>4} {len(ours.orders):>4}"
        f" {told[0]:>6.2f} {seconds:>7.1f}  {'ok' if best.will_do else 'SHORT'}"
        f"{'' if by_rule.will_do else ' (usual rule short)'}",
        flush=True,
    )
    if is_whole_asked:
        print_whole(size, limit, kitchen, window, demand, deliveries, by_rule.cost)
    return saving, ours.proof.gap, told[0]


def print_whole(size, limit, kitchen, window, demand, deliveries, usual_cost):
    """Print what the solver alone makes of the whole model in the same time."""
    rows = zip(demand.node, demand.day, demand.amount_base, strict=True)
    used = {
        (int(node), date.fromordinal(int(day))): float(amount)
        for node, day, amount in rows
    }
    days = [
        (truck.supplier, (truck.deliver_on - window.from_on).days)
        for truck in deliveries
    ]
    start = time.monotonic()
    programme, packs = whole_model(kitchen, window, used, days)
    answer = programme.solve(time_limit=limit, mip_rel_gap=1e-4)
    seconds = time.monotonic() - start
    if answer.x is None:
        print(f"{size:<7} all{'no plan':>22}{seconds:>45.1f}", flush=True)
        return
    trucks = trucks_in(kitchen, window, packs, answer.x)
    outcome = simulate(kitchen, window, used, trucks)
    paid = float(outcome.goods + outcome.fees)
    cost = paid - outcome.worth
    gap = max(0.0, cost - answer.mip_dual_bound) / paid
    print(
        f"{size:<7} all {'':>10} {cost:>10.2f} {1 - cost / usual_cost:>7.1%}"
        f" {gap:>7.2%} {'':>4} {len(trucks):>4} {'':>6} {seconds:>7.1f}"
        f"{'  ' + '; '.join(outcome.broken_rules)}",
        flush=True,
    )


def main():
    """Print a row a bakery, and medians and worst of each size."""
    parser = argparse.ArgumentParser()
    parser.add_argument("sizes", nargs="+", choices=list(SIZES))
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--seconds", type=float, help="the limit, for every size")
    parser.add_argument("--wall", action="store_true")
    parser.add_argument("--whole", action="store_true")
    asked = parser.parse_args()
    clock = time.monotonic if asked.wall else time.process_time
    print("size   seed  usual cost   our cost   saves     gap trucks     first seconds")
    for size in asked.sizes:
        rows = [
            measured(
                size,
                seed,
                clock,
                asked.seconds or SECONDS[size],
                is_whole_asked=asked.whole,
            )
            for seed in range(1, asked.seeds + 1)
        ]
        savings, gaps, firsts = zip(*rows, strict=True)
        met = "within" if max(gaps) <= FLOORS[size] else "not within"
        print(
            f"{size}: saves {statistics.median(savings):.1%} in the median, "
            f"{min(savings):.1%} at least; gap {statistics.median(gaps):.2%} in the "
            f"median, {max(gaps):.2%} at most, {met} {FLOORS[size]:.2%}; first orders "
            f"after {max(firsts):.2f} s at most"
        )
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak_mb:.0f} MB")


if __name__ == "__main__":
    main()
