"""What a buyer asks of a plan beyond its figures: lines kept, deliveries left out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import DeliveryKey


@dataclass(frozen=True, slots=True)
class FixedLine:
    """So many packs of one kind on one delivery, no more and no fewer."""

    pack_id: int
    deliver_on: date
    packs: int  # 0: none of this pack on this delivery


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the buyer has decided.

    Nothing comes from what is forbidden. An item that a preferred supplier or delivery
    can bring without leaving more short comes from there alone.
    """

    fixed_lines: tuple[FixedLine, ...] = ()
    forbidden_suppliers: frozenset[int] = frozenset()
    forbidden_deliveries: frozenset[DeliveryKey] = frozenset()
    preferred_suppliers: frozenset[int] = frozenset()
    preferred_deliveries: frozenset[DeliveryKey] = frozenset()

    @property
    def has_any(self) -> bool:
        """Whether the buyer has decided anything at all."""
        return self != NO_WISHES

    @property
    def has_preference(self) -> bool:
        """Whether some supplier or delivery is preferred."""
        return bool(self.preferred_suppliers or self.preferred_deliveries)

    def allowed(
        self, deliveries: Iterable[PossibleDelivery]
    ) -> tuple[PossibleDelivery, ...]:
        """Return the deliveries that are not forbidden."""
        return tuple(
            truck
            for truck in deliveries
            if truck.supplier not in self.forbidden_suppliers
            and truck.key not in self.forbidden_deliveries
        )

    def prefers(self, truck: PossibleDelivery) -> bool:
        """Whether a delivery, or its supplier, is preferred."""
        return (
            truck.supplier in self.preferred_suppliers
            or truck.key in self.preferred_deliveries
        )

    def fixed_packs(
        self, truck: PossibleDelivery, pack_ids: Sequence[int]
    ) -> dict[int, int]:
        """Return the packs that are fixed on a delivery, by pack id."""
        return {
            line.pack_id: line.packs
            for line in self.fixed_lines
            if line.deliver_on == truck.deliver_on and line.pack_id in pack_ids
        }


NO_WISHES = Wishes()
