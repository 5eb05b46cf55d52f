"""Which cakes stand behind a figure, and through what.

Only what still has to be made is followed upward: a making whose need was served by
made stock is nobody's need. A cell is a taker or a part on one day.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from planning.engine.demand.bill import NO_TAKER
from planning.engine.demand.figures import Figures
from planning.engine.demand.prepared import Prepared
from planning.engine.kitchen import NO_NODE, IntColumn, NodeKind

NodeDay = tuple[int, int]  # node, column of the day


@dataclass(frozen=True, slots=True)
class PeggingStep:
    """One step of a trace: so much of a node is taken for something on a day."""

    node: int  # what is taken
    on: date  # the day the taker is made, and takes it
    takes_base: float  # in the node's own base unit
    taker: int  # the recipe, cake or part that takes it
    made_base: float  # how much of the taker is made in all; of a cake: how many
    reference: str  # of a cake: its line of the bake plan; else ""


class Trail:
    """Follows figures of one explosion upward; remembers what it found."""

    def __init__(self, prepared: Prepared, figures: Figures) -> None:
        self._prepared = prepared
        self._figures = figures
        self._lines_by_taken: IntColumn = np.argsort(
            prepared.bill.line_component, kind="stable"
        )
        taken = prepared.bill.line_component[self._lines_by_taken]
        bounds = np.arange(len(prepared.kitchen.nodes.names) + 1)
        self._first_line = np.searchsorted(taken, bounds)
        self._rows_behind: dict[NodeDay, int] = {}  # bits: lines of the bake plan
        self._takers_by_node: dict[int, list[tuple[int, list[int]]]] = {}
        self._last_bought = NO_NODE

    def cakes_behind(self, node: int, days: Collection[date]) -> tuple[str, ...]:
        """Return the references whose net need for a node falls on one of the days."""
        rows = 0
        for day in days:
            column = self._prepared.days.column_of(day)
            if column is not None:
                rows |= self._rows_of((node, column))
        return tuple(self._references[place] for place in _bits(rows))

    def reasons(self, node: int, day: date) -> tuple[PeggingStep, ...]:
        """Return every step from a node on a day up to the cakes, nearest first."""
        column = self._prepared.days.column_of(day)
        if column is None:
            return ()
        found: list[PeggingStep] = []
        seen = {(node, column)}
        waiting = [(node, column)]
        for cell in waiting:
            for reason, above in self._steps(cell):
                found.append(reason)
                if above is not None and above not in seen:
                    seen.add(above)
                    waiting.append(above)
        return tuple(found)

    def _rows_of(self, asked: NodeDay) -> int:
        """Return the lines of the bake plan behind a cell, as bits.

        Goes up without recursion: recipes may be nested to any depth.
        """
        known = self._rows_behind
        waiting = [asked]
        while waiting:
            cell = waiting[-1]
            if cell in known:
                waiting.pop()
                continue
            rows, above = self._behind(cell)
            unknown = [parent for parent in above if parent not in known]
            if unknown:
                waiting.extend(unknown)
                continue
            for parent in above:
                rows |= known[parent]
            known[cell] = rows
            waiting.pop()
        if self._kind[asked[0]] == NodeKind.BOUGHT:
            return known.pop(asked)  # nothing stands on it, so nobody asks again
        return known[asked]

    def _behind(self, cell: NodeDay) -> tuple[int, list[NodeDay]]:
        """Return the lines of the bake plan right above a cell, and other cells."""
        node, column = cell
        if self._kind[node] == NodeKind.CAKE:
            return self._rows_by_cake.get(cell, 0), []
        rows, above = 0, self._parts_taken(node, column)
        takers = self._takers(node)
        for day in self._need_columns(node, column):
            cake_rows, recipes = takers[day]
            rows |= cake_rows
            above += [(recipe, day) for recipe in recipes]
        return rows, above

    def _takers(self, node: int) -> list[tuple[int, list[int]]]:
        """Return by day which lines of the bake plan and which recipes take a node."""
        if node in self._takers_by_node:
            return self._takers_by_node[node]
        bill = self._prepared.bill
        lines = self._lines(node)
        takers = bill.line_taker[lines]
        places, columns = np.nonzero(self._figures.takes[takers] > 0)
        cake_rows = [0] * len(self._prepared.days)
        recipes: list[list[int]] = [[] for _ in cake_rows]
        for taker, column in zip(
            takers[places].tolist(), columns.tolist(), strict=True
        ):
            recipe = self._recipe[taker]
            if self._kind[recipe] == NodeKind.CAKE:
                cake_rows[column] |= self._rows_by_taker[taker, column]
            else:
                recipes[column].append(recipe)
        found = list(zip(cake_rows, recipes, strict=True))
        if self._kind[node] == NodeKind.BOUGHT:
            # Asked for one after the other, and each large: the last is enough.
            self._takers_by_node.pop(self._last_bought, None)
            self._last_bought = node
        self._takers_by_node[node] = found
        return found

    def _need_columns(self, node: int, column: int) -> list[int]:
        """Return the days of need that something on this day is there for."""
        if self._kind[node] == NodeKind.BOUGHT:
            return [column]
        net_base = self._figures.net_base[node]
        if self._kind[node] == NodeKind.PART:
            return [column] if net_base[column] > 0 else []
        if self._figures.batches[node, column] <= 0:
            return []
        lead_days = int(self._prepared.kitchen.nodes.lead_days[node])
        is_made_now = self._prepared.making_days[lead_days].column == column
        return [int(day) for day in np.flatnonzero(is_made_now & (net_base > 0))]

    def _parts_taken(self, node: int, column: int) -> list[NodeDay]:
        parts = self._prepared.parts_of.get(node, ())
        return [
            (int(part), day)
            for part in parts
            for day in self._need_columns(node, column)
            if self._figures.net_base[part, day] > 0
        ]

    def _lines(self, node: int) -> IntColumn:
        """Return the recipe lines through which a node is taken on any day."""
        span = slice(self._first_line[node], self._first_line[node + 1])
        lines = self._lines_by_taken[span]
        taking: IntColumn = lines[self._prepared.bill.line_amount_base[lines] > 0]
        return taking

    def _steps(self, cell: NodeDay) -> Iterator[tuple[PeggingStep, NodeDay | None]]:
        """Yield what takes a cell, each with the cell to go on from."""
        node, column = cell
        if self._kind[node] == NodeKind.CAKE:
            for row in self._rows(self._rows_by_cake.get(cell, 0)):
                quantity = float(self._figures.cakes_to_make[row])
                yield self._cake_reason(cell, row, quantity), None
            return
        for part, day in self._parts_taken(node, column):
            yield self._part_reason(node, part, day), (part, day)
        for day in self._need_columns(node, column):
            yield from self._steps_on((node, day))

    def _steps_on(self, cell: NodeDay) -> Iterator[tuple[PeggingStep, NodeDay | None]]:
        """Yield the recipes and cakes made on a day that take a node."""
        bill, figures = self._prepared.bill, self._figures
        node, column = cell
        by_recipe: dict[int, float] = defaultdict(float)
        by_row: dict[int, float] = defaultdict(float)
        for line in self._lines(node).tolist():
            taker, amount_base = int(bill.line_taker[line]), bill.line_amount_base[line]
            if figures.takes[taker, column] <= 0:
                continue
            recipe, scale = int(bill.taker_node[taker]), int(bill.taker_scale[taker])
            if self._kind[recipe] != NodeKind.CAKE:
                by_recipe[recipe] += amount_base * figures.takes[taker, column]
                continue
            for row in self._rows(self._rows_by_taker[taker, column]):
                cakes = self._prepared.planned.factor[scale, row]
                by_row[row] += amount_base * cakes * figures.cakes_to_make[row]
        for recipe, takes_base in by_recipe.items():
            yield self._recipe_reason(cell, recipe, takes_base), (recipe, column)
        for row, takes_base in by_row.items():
            yield self._cake_reason(cell, row, takes_base), None

    def _recipe_reason(
        self, cell: NodeDay, recipe: int, takes_base: float
    ) -> PeggingStep:
        node, column = cell
        day = self._prepared.days.on(column)
        batches = self._figures.batches[recipe, column]
        made_base = float(batches * self._prepared.kitchen.nodes.yield_base[recipe])
        return PeggingStep(node, day, float(takes_base), recipe, made_base, "")

    def _cake_reason(self, cell: NodeDay, row: int, takes_base: float) -> PeggingStep:
        node, column = cell
        day = self._prepared.days.on(column)
        cake = int(self._prepared.planned.cake[row])
        quantity = float(self._figures.cakes_to_make[row])
        reference = self._reference(row)
        return PeggingStep(node, day, float(takes_base), cake, quantity, reference)

    def _part_reason(self, whole: int, part: int, column: int) -> PeggingStep:
        day = self._prepared.days.on(column)
        net_base = float(self._figures.net_base[part, column])
        yields_base = float(self._prepared.kitchen.nodes.part_yields_base[part])
        return PeggingStep(whole, day, net_base / yields_base, part, net_base, "")

    def _rows(self, bits: int) -> list[int]:
        return [self._row_at[place] for place in _bits(bits)]

    @cached_property
    def _row_at(self) -> list[int]:
        """Lines of the bake plan by their bit: sorted by reference."""
        return sorted(range(len(self._prepared.planned.row)), key=self._reference)

    @cached_property
    def _references(self) -> list[str]:
        return [self._reference(row) for row in self._row_at]

    @cached_property
    def _bit(self) -> dict[int, int]:
        return {row: 1 << place for place, row in enumerate(self._row_at)}

    def _reference(self, row: int) -> str:
        planned, cakes = self._prepared.planned, self._prepared.kitchen.cakes
        return cakes.references[int(planned.row[row])]

    @cached_property
    def _kind(self) -> list[int]:
        return [int(kind) for kind in self._prepared.kitchen.nodes.kind]

    @cached_property
    def _recipe(self) -> list[int]:
        return [int(node) for node in self._prepared.bill.taker_node]

    @cached_property
    def _rows_by_cake(self) -> dict[NodeDay, int]:
        """Lines of the bake plan, as bits, by cake and day of making."""
        planned, rows = self._prepared.planned, defaultdict[NodeDay, int](int)
        for row in np.flatnonzero(self._figures.cakes_to_make > 0).tolist():
            column = int(self._prepared.made_column[row])
            rows[int(planned.cake[row]), column] |= self._bit[row]
        return rows

    @cached_property
    def _rows_by_taker(self) -> dict[NodeDay, int]:
        """Lines of the bake plan, as bits, by taker and day of making."""
        planned, bill = self._prepared.planned, self._prepared.bill
        rows = defaultdict[NodeDay, int](int)
        for row in np.flatnonzero(self._figures.cakes_to_make > 0).tolist():
            column = int(self._prepared.made_column[row])
            takers = bill.taker_by_scale[:, planned.cake[row]]
            is_taking = (takers != NO_TAKER) & (planned.factor[:, row] > 0)
            for taker in takers[is_taking].tolist():
                rows[taker, column] |= self._bit[row]
        return rows


def _bits(bits: int) -> list[int]:
    """Return the places of the bits that are set, lowest first."""
    count = (bits.bit_length() + 7) // 8
    packed = np.frombuffer(bits.to_bytes(count, "little"), dtype=np.uint8)
    places = np.flatnonzero(np.unpackbits(packed, bitorder="little"))
    return [int(place) for place in places]
