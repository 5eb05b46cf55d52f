"""Changes of a kitchen that nobody has made: a copy of it, as if they had been."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from planning.engine.kitchen import Kitchen, PlannedCakes, StockLots


@dataclass(frozen=True, slots=True)
class AddCake:
    """One more line on the bake plan."""

    reference: str
    cake: int  # node
    size: str
    due_on: date
    quantity: float

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with the line."""
        cakes = kitchen.cakes
        added = PlannedCakes(
            references=[*cakes.references, self.reference],
            due_on=[*cakes.due_on, self.due_on],
            cake=np.append(cakes.cake, self.cake),
            sizes=[*cakes.sizes, self.size],
            quantity=np.append(cakes.quantity, self.quantity),
            tentative=np.append(cakes.tentative, False),
        )
        return replace(kitchen, cakes=added)


@dataclass(frozen=True, slots=True)
class DropCake:
    """One line less on the bake plan."""

    reference: str

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen without the line."""
        cakes = kitchen.cakes
        quantity = cakes.quantity.copy()
        quantity[list(cakes.references).index(self.reference)] = 0.0  # not live
        return replace(kitchen, cakes=replace(cakes, quantity=quantity))


@dataclass(frozen=True, slots=True)
class MoveCake:
    """A line of the bake plan on another day."""

    reference: str
    due_on: date

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with the line moved."""
        cakes = kitchen.cakes
        due_on = list(cakes.due_on)
        due_on[list(cakes.references).index(self.reference)] = self.due_on
        return replace(kitchen, cakes=replace(cakes, due_on=due_on))


@dataclass(frozen=True, slots=True)
class EditCake:
    """A line of the bake plan with another cake, size, day or quantity."""

    reference: str
    cake: int  # node
    size: str
    due_on: date
    quantity: float

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with the line edited."""
        cakes = kitchen.cakes
        place = list(cakes.references).index(self.reference)
        cake, quantity = cakes.cake.copy(), cakes.quantity.copy()
        cake[place], quantity[place] = self.cake, self.quantity
        sizes, due_on = list(cakes.sizes), list(cakes.due_on)
        sizes[place], due_on[place] = self.size, self.due_on
        edited = replace(
            cakes, cake=cake, quantity=quantity, sizes=sizes, due_on=due_on
        )
        return replace(kitchen, cakes=edited)


@dataclass(frozen=True, slots=True)
class SetOnHand:
    """Another amount of an item on hand.

    Less is taken from what goes out of date first; more does not go out of date.
    """

    node: int
    amount_base: float

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with so much of the item."""
        lots = kitchen.lots
        mine = np.flatnonzero(lots.node == self.node)
        more_base = self.amount_base - float(lots.amount_base[mine].sum())
        amount_base = lots.amount_base.copy()
        if more_base >= 0:
            added = StockLots(
                node=np.append(lots.node, self.node),
                amount_base=np.append(amount_base, more_base),
                use_by=[*lots.use_by, None],
            )
            return replace(kitchen, lots=added)
        for lot in sorted(mine.tolist(), key=lambda lot: lots.use_by[lot] or date.max):
            taken_base = min(max(amount_base[lot], 0.0), -more_base)
            amount_base[lot] -= taken_base
            more_base += taken_base
        return replace(kitchen, lots=replace(lots, amount_base=amount_base))


@dataclass(frozen=True, slots=True)
class CloseDay:
    """A day on which nobody bakes and for which nothing new can be ordered.

    An open order that is due then still counts: somebody has to give it another day.
    """

    on: date

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with the day closed."""
        closed_on = kitchen.bakery.closed_on | {self.on}
        return replace(kitchen, bakery=replace(kitchen.bakery, closed_on=closed_on))


@dataclass(frozen=True, slots=True)
class SkipDelivery:
    """A truck that does not come; what is on order with it does not, either."""

    supplier: int  # index into Kitchen.suppliers
    on: date

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen without the delivery."""
        suppliers = list(kitchen.suppliers)
        terms = suppliers[self.supplier]
        suppliers[self.supplier] = replace(
            terms, closed_on=frozenset(terms.closed_on | {self.on})
        )
        orders = kitchen.open_orders
        is_on = np.array([due_on == self.on for due_on in orders.due_on], dtype=bool)
        stays = ~(is_on & (orders.supplier == self.supplier))
        amount_base = orders.amount_base * stays
        return replace(
            kitchen,
            suppliers=tuple(suppliers),
            open_orders=replace(orders, amount_base=amount_base),
        )


@dataclass(frozen=True, slots=True)
class NewPrice:
    """Another price of a pack; its price breaks stay."""

    pack_id: int
    price: Decimal

    def applied(self, kitchen: Kitchen) -> Kitchen:
        """Return the kitchen with the price."""
        packs = tuple(
            replace(pack, price=self.price, next_price=None, next_price_from=None)
            if pack.pack_id == self.pack_id
            else pack
            for pack in kitchen.packs
        )
        return replace(kitchen, packs=packs)


PlanChange = (
    AddCake
    | DropCake
    | MoveCake
    | EditCake
    | SetOnHand
    | CloseDay
    | SkipDelivery
    | NewPrice
)


def as_if(kitchen: Kitchen, changes: Iterable[PlanChange]) -> Kitchen:
    """Return a kitchen in which changes have been made, one after the other."""
    for change in changes:
        kitchen = change.applied(kitchen)
    return kitchen
