"""The choice among known schedules, as a linear programme, and its prices.

A column is one item's schedule. Rows: one schedule an item; a schedule may use a
delivery only if it is open, item by item, which makes the bound strong; and goods
enough for the minimum order, or for free delivery. Goods beyond any use can fill a
delivery up at their price: that can only make the programme too easy, never too hard.

This is the restricted master problem of column generation. Each delivery has a column a
mode (0 with its fee, 1 free of it); its dual prices go to the items.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.column_generation.solver import INFINITY, quiet_solver
from planning.engine.ordering.instance.problems import Problem, TruckTerms
from planning.engine.ordering.pricing.tasks import Choice, Task

LEAST_TAKEN = 1e-6


@dataclass(frozen=True, slots=True)
class MasterColumn:
    """One item's schedule."""

    task: int
    choice: Choice
    net_cost: float
    trucks: tuple[int, ...]  # those that it uses
    goods: tuple[float, ...]  # on each of them


def column_of(number: int, task: Task, choice: Choice, net_cost: float) -> MasterColumn:
    """Return a choice as a column."""
    used = [
        (offer.delivery, float(offer.cost[option]))
        for offer, option in zip(task.offers, choice, strict=True)
        if offer.is_used[option]
    ]
    return MasterColumn(
        number,
        choice,
        net_cost,
        tuple(truck for truck, _ in used),
        tuple(cost for _, cost in used),
    )


@dataclass(frozen=True, slots=True)
class Duals:
    """Prices of the rows: the dual values of the linear programme."""

    charge: FloatColumn  # task x truck, for using it
    value: FloatColumn  # by truck: what a unit of money of goods there is good for

    @classmethod
    def nothing(cls, problem: Problem) -> "Duals":
        """Return prices at which all deliveries are free."""
        trucks = len(problem.trucks)
        return cls(np.zeros((len(problem.tasks), trucks)), np.zeros(trucks))

    def towards(self, other: "Duals", fraction: float) -> "Duals":
        """Return prices on the way to others."""
        return Duals(
            (1 - fraction) * self.charge + fraction * other.charge,
            (1 - fraction) * self.value + fraction * other.value,
        )


class State(Enum):
    """What has been decided about a delivery."""

    CLOSED = "closed"
    OPEN = "open"
    PAID = "paid"  # it comes with its fee
    FREE = "free"  # so much comes that it has none


States = Mapping[int, State]  # by delivery; what is not there is undecided


def is_out(state: State | None, mode: int) -> bool:
    """Whether a delivery cannot come in a mode: 0 with its fee, 1 free of it."""
    return state == State.CLOSED or state == (State.FREE if mode == 0 else State.PAID)


def is_decided_open(state: State | None) -> bool:
    """Whether it is decided that a delivery comes."""
    return state is not None and state != State.CLOSED


@dataclass(frozen=True, slots=True)
class Solved:
    """The answer of the linear programme."""

    cost: float
    duals: Duals
    task_dual: FloatColumn
    modes: Mapping[tuple[int, int], float]  # how far each delivery's mode is taken
    is_artificial: bool  # some item has no schedule yet that fits

    def openness(self, truck: int) -> float:
        """How far a delivery is open."""
        return self.modes[truck, 0] + self.modes.get((truck, 1), 0.0)


class Rows:
    """Which rows there are, and in which order.

    First one a task: it takes one schedule. Then `link`, one a task and delivery: no
    more of its schedules use the delivery than it is open. Then by delivery `value`:
    goods enough for how it comes; and `once`: it comes in one mode at most.
    """

    def __init__(self, problem: Problem) -> None:
        self.terms = problem.terms
        self.tasks = len(problem.tasks)
        self.shared = [n for n, terms in enumerate(problem.terms) if terms.is_shared]
        self.link: dict[tuple[int, int], int] = {}
        for number, task in enumerate(problem.tasks):
            for offer in task.offers:
                if problem.terms[offer.delivery].is_shared:
                    cell = (number, offer.delivery)
                    self.link.setdefault(cell, self.tasks + len(self.link))
        first = self.tasks + len(self.link)
        self.value = {truck: first + n for n, truck in enumerate(self.shared)}
        first += len(self.value)
        self.once = {truck: first + n for n, truck in enumerate(self.shared)}
        self.count = first + len(self.once)

    def bounds(self) -> tuple[FloatColumn, FloatColumn]:
        """Return the lower and upper bounds of all rows."""
        lower, upper = np.zeros(self.count), np.full(self.count, INFINITY)
        lower[: self.tasks] = upper[: self.tasks] = 1.0
        for row in self.link.values():
            lower[row], upper[row] = -INFINITY, 0.0
        for row in self.once.values():
            lower[row], upper[row] = -INFINITY, 1.0
        return lower, upper

    def truck_entries(self, truck: int, goods: float) -> tuple[IntColumn, FloatColumn]:
        """Return the entries of a delivery that is open and asks for some goods."""
        links = [row for (_, of), row in self.link.items() if of == truck]
        rows = [*links, self.value[truck], self.once[truck]]
        return np.array(rows), np.array([-1.0] * len(links) + [-goods, 1.0])

    def column_entries(self, column: MasterColumn) -> tuple[IntColumn, FloatColumn]:
        """Return the entries of a schedule."""
        rows, values = [column.task], [1.0]
        for truck, goods in zip(column.trucks, column.goods, strict=True):
            if self.terms[truck].is_shared:
                rows += [self.link[column.task, truck], self.value[truck]]
                values += [1.0, goods]
        return np.array(rows), np.array(values)


def truck_modes(terms: TruckTerms) -> list[tuple[float, float]]:
    """Return the ways in which a delivery can come: its fee, the goods it asks for."""
    modes = [(terms.fee, terms.minimum)]
    if terms.free_goods is not None:
        modes.append((0.0, terms.free_goods))
    return modes


class Master:
    """The linear programme over the columns known so far."""

    def __init__(self, problem: Problem) -> None:
        self.rows = Rows(problem)
        self.columns: list[MasterColumn] = []
        self._known: set[tuple[int, Choice]] = set()
        self._solver = quiet_solver()
        lower, upper = self.rows.bounds()
        nothing = np.zeros(0, dtype=np.int32)
        for low, high in zip(lower.tolist(), upper.tolist(), strict=True):
            self._solver.addRow(low, high, 0, nothing, np.zeros(0))
        self.fixed_columns = 0
        self._modes: dict[tuple[int, int], int] = {}
        # Artificial columns, dearer than any schedule: without its own a task has no
        # column at all while a delivery is closed.
        artificial_cost = 1e3 + 10.0 * sum(dearest(task) for task in problem.tasks)
        for number in range(len(problem.tasks)):
            self._add(artificial_cost, 1.0, np.array([number]), np.ones(1))
        for truck in self.rows.shared:
            for mode, (fee, goods) in enumerate(truck_modes(self.rows.terms[truck])):
                self._modes[truck, mode] = self.fixed_columns
                self._add(fee, 1.0, *self.rows.truck_entries(truck, goods))
            self._add(
                1.0, INFINITY, np.array([self.rows.value[truck]]), np.array([1.0])
            )

    def _add(
        self, cost: float, upper: float, rows: IntColumn, values: FloatColumn
    ) -> None:
        self._solver.addCol(
            cost, 0.0, upper, len(rows), rows.astype(np.int32), values.astype(float)
        )
        self.fixed_columns += 1

    def add(self, columns: Sequence[MasterColumn]) -> int:
        """Add the columns that are new; return how many they are."""
        added = 0
        for column in columns:
            key = (column.task, column.choice)
            if key in self._known:
                continue
            self._known.add(key)
            self.columns.append(column)
            rows, values = self.rows.column_entries(column)
            self._solver.addCol(
                column.net_cost,
                0.0,
                INFINITY,
                len(rows),
                rows.astype(np.int32),
                values,
            )
            added += 1
        return added

    def decide(self, states: States) -> None:
        """Fix what has been decided about deliveries, and free all others."""
        for (truck, mode), column in self._modes.items():
            upper = 0.0 if is_out(states.get(truck), mode) else 1.0
            self._solver.changeColBounds(column, 0.0, upper)
        for truck, row in self.rows.once.items():
            lower = 1.0 if is_decided_open(states.get(truck)) else -INFINITY
            self._solver.changeRowBounds(row, lower, 1.0)

    def solve(self) -> Solved:
        """Return the least cost with its prices."""
        self._solver.run()
        solution = self._solver.getSolution()
        row_dual = np.array(solution.row_dual)
        taken = solution.col_value
        charge = np.zeros((self.rows.tasks, len(self.rows.terms)))
        for (task, truck), row in self.rows.link.items():
            charge[task, truck] = max(0.0, -row_dual[row])
        value = np.zeros(len(self.rows.terms))
        for truck, row in self.rows.value.items():
            value[truck] = min(1.0, max(0.0, row_dual[row]))
        return Solved(
            float(self._solver.getInfo().objective_function_value),
            Duals(charge, value),
            row_dual[: self.rows.tasks],
            {cell: taken[column] for cell, column in self._modes.items()},
            max(taken[: self.rows.tasks], default=0.0) > LEAST_TAKEN,
        )


def dearest(task: Task) -> float:
    """Return more than any sensible schedule of a task costs."""
    return sum(float(offer.cost.max()) for offer in task.offers)


def trucks_bound(
    terms: Sequence[TruckTerms], duals: Duals, states: States | None = None
) -> float:
    """Return the least that the deliveries add to the items' own least costs.

    Together they are the Lagrangian bound, which holds at any prices.
    """
    states = states or {}
    paid = duals.charge.sum(axis=0)
    bound = 0.0
    for truck, of_truck in enumerate(terms):
        if not of_truck.is_shared or states.get(truck) == State.CLOSED:
            continue
        modes = [
            fee + goods * float(duals.value[truck]) - float(paid[truck])
            for fee, goods in truck_modes(of_truck)
        ]
        bound += {
            State.OPEN: min(modes),
            State.PAID: modes[0],
            State.FREE: modes[-1],
        }.get(states.get(truck, State.CLOSED), min(0.0, *modes))
    return bound
