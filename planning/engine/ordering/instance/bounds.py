"""How many packs of a line may come: what wishes fix, and what was decided on.

Deliveries go by their number in the problem, packs by their place in the kitchen.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from planning.engine.decided import ComingLine
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
from planning.engine.ordering.instance.wishes import Wishes

Cell = tuple[int, int]  # delivery, place in the kitchen's packs


@dataclass(frozen=True, slots=True)
class PackBounds:
    """What the packs on each delivery are held to.

    What was decided on comes, whatever is wished: a wish for fewer is one for just so
    many, and of a delivery that is left out nothing else comes.
    """

    trucks: Sequence[PossibleDelivery]
    wishes: Wishes
    packs_by_truck: Mapping[int, Mapping[int, int]]  # decided on, by pack id
    closed: frozenset[int]  # deliveries that bring what was decided on alone

    @classmethod
    def of(
        cls,
        trucks: Sequence[PossibleDelivery],
        wishes: Wishes,
        decided: Iterable[ComingLine],
        allowed: Collection[PossibleDelivery],
    ) -> "PackBounds":
        """Return the bounds of some deliveries; the wishes allow some of them."""
        number_of = {truck: number for number, truck in enumerate(trucks)}
        found: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for coming in decided:
            packs = found[number_of[coming.delivery]]
            packs[coming.line.pack_id] += coming.line.packs
        closed = (n for n, truck in enumerate(trucks) if truck not in allowed)
        return cls(trucks, wishes, dict(found), frozenset(closed))

    def is_closed(self, truck: PossibleDelivery) -> bool:
        """Whether a delivery brings what was decided on alone."""
        return self.trucks.index(truck) in self.closed

    def least(self, truck: int) -> Mapping[int, int]:
        """Return how many packs come at least on a delivery, by pack id."""
        return self.packs_by_truck.get(truck, {})

    def fixed(self, truck: int, packs: Iterable[PackTerms]) -> dict[int, int]:
        """Return how many of some packs come on a delivery, by id, where that is fixed.

        No more and no fewer.
        """
        least, pack_ids = self.least(truck), [pack.pack_id for pack in packs]
        if truck in self.closed:
            return {pack_id: least.get(pack_id, 0) for pack_id in pack_ids}
        wished = self.wishes.fixed_packs(self.trucks[truck], pack_ids)
        return {
            pack_id: max(count, least.get(pack_id, 0))
            for pack_id, count in wished.items()
        }

    def has_any(self, truck: int, packs: Iterable[PackTerms]) -> bool:
        """Whether some packs on a delivery are held to anything."""
        mine = list(packs)
        least = self.least(truck)
        is_decided = any(pack.pack_id in least for pack in mine)
        return is_decided or bool(self.fixed(truck, mine))

    def least_base(self, truck: int, packs: Iterable[PackTerms]) -> float:
        """Return how much of an item a delivery brings at least."""
        mine = list(packs)
        counts = {**self.least(truck), **self.fixed(truck, mine)}
        return sum(pack.size_base * counts.get(pack.pack_id, 0) for pack in mine)

    def most_base(self, truck: int, packs: Iterable[PackTerms]) -> float | None:
        """Return how much of an item a delivery brings at most; None: no limit."""
        mine = list(packs)
        fixed = self.fixed(truck, mine)
        return None if len(fixed) < len(mine) else self.least_base(truck, mine)

    def fixed_cells(self, packs: Sequence[PackTerms]) -> frozenset[Cell]:
        """Return the lines whose packs are fixed."""
        if not self.wishes.fixed_lines and not self.closed:
            return frozenset()
        return frozenset(
            (number, place)
            for number, truck in enumerate(self.trucks)
            for place, pack in enumerate(packs)
            if pack.supplier == truck.supplier and self.fixed(number, [pack])
        )

    def decided_cells(self, packs: Sequence[PackTerms]) -> dict[Cell, int]:
        """Return the packs that were decided on, by line."""
        place_of = {pack.pack_id: place for place, pack in enumerate(packs)}
        return {
            (truck, place_of[pack_id]): count
            for truck, counts in self.packs_by_truck.items()
            for pack_id, count in counts.items()
        }
