"""What a buyer asks of a plan beyond its figures: lines kept, deliveries left out.

A buyer's wishes by ids that outlive a plan, as they are kept with a search.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import DeliveryKey, Kitchen, SupplierDay


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


Stored = dict[str, Any]


@dataclass(frozen=True, slots=True)
class KeptWishes:
    """What a buyer has decided; see `Wishes`. Suppliers and packs by their ids."""

    fixed_lines: tuple[FixedLine, ...] = ()
    left_out: tuple[int, ...] = ()  # suppliers
    preferred: tuple[int, ...] = ()
    forbidden_deliveries: tuple[SupplierDay, ...] = ()
    preferred_deliveries: tuple[SupplierDay, ...] = ()

    @property
    def has_any(self) -> bool:
        """Whether the buyer has decided anything at all."""
        return self != NOTHING_WISHED

    def as_json(self) -> Stored:
        """Return the wishes as dicts, lists, numbers and texts; without any, {}."""
        stored = {
            "fixed_lines": [
                [line.pack_id, line.deliver_on.isoformat(), line.packs]
                for line in self.fixed_lines
            ],
            "left_out": list(self.left_out),
            "preferred": list(self.preferred),
            "forbidden_deliveries": _texts(self.forbidden_deliveries),
            "preferred_deliveries": _texts(self.preferred_deliveries),
        }
        return {name: values for name, values in stored.items() if values}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "KeptWishes":
        """Return the wishes that were kept."""
        return cls(
            fixed_lines=tuple(
                FixedLine(pack_id, date.fromisoformat(day), packs)
                for pack_id, day, packs in stored.get("fixed_lines", ())
            ),
            left_out=tuple(stored.get("left_out", ())),
            preferred=tuple(stored.get("preferred", ())),
            forbidden_deliveries=_days(stored.get("forbidden_deliveries", ())),
            preferred_deliveries=_days(stored.get("preferred_deliveries", ())),
        )

    def in_kitchen(self, kitchen: Kitchen) -> Wishes:
        """Return the wishes in a kitchen's own terms; who is gone is left out."""
        place_of = {
            supplier.supplier_id: place
            for place, supplier in enumerate(kitchen.suppliers)
        }

        def places(ids: Iterable[int]) -> frozenset[int]:
            return frozenset(place_of[key] for key in ids if key in place_of)

        def trucks(days: Iterable[SupplierDay]) -> frozenset[DeliveryKey]:
            return frozenset(
                DeliveryKey(place_of[key], day) for key, day in days if key in place_of
            )

        return Wishes(
            fixed_lines=self.fixed_lines,
            forbidden_suppliers=places(self.left_out),
            forbidden_deliveries=trucks(self.forbidden_deliveries),
            preferred_suppliers=places(self.preferred),
            preferred_deliveries=trucks(self.preferred_deliveries),
        )


NOTHING_WISHED = KeptWishes()


def _texts(days: Iterable[SupplierDay]) -> list[list[Any]]:
    return [[supplier_id, day.isoformat()] for supplier_id, day in days]


def _days(stored: Iterable[list[Any]]) -> tuple[SupplierDay, ...]:
    return tuple(SupplierDay(of, date.fromisoformat(day)) for of, day in stored)
