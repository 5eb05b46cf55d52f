"""Why a line is on an order, in sentences with their figures."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from planning.engine.kitchen import Kitchen, Window
from planning.engine.plan import ShortfallKind
from planning.engine.projection import LEAST_LACK_BASE
from planning.engine.purchases import Purchase
from planning.engine.supplies import days_late_words
from planning.engine.trucks import Line, Truck

Say = Callable[[int, float], str]  # a node's amount in its base unit, in words


@dataclass(frozen=True, slots=True)
class Standing:
    """How an item stands over the whole plan, without suggested orders."""

    on_hand_base: float  # in date on the first day
    on_order_base: float  # that comes within the plan
    used_base: float
    expired_base: float  # goes out of date within the plan


def plain_words(kitchen: Kitchen) -> Say:
    """Return words for amounts: the base unit, to a tenth."""

    def say(node: int, amount_base: float) -> str:
        figure = f"{amount_base:,.1f}".removesuffix(".0")
        return f"{figure} {kitchen.nodes.units[node]}"

    return say


def day_words(on: date) -> str:
    """Return a date with its weekday.

    >>> day_words(date(2026, 5, 5))
    'Tue 5 May'
    """
    return f"{on:%a} {on.day} {on:%b}"


def moment_words(at: datetime) -> str:
    """Return a moment in its own zone."""
    return f"{day_words(at)} {at:%H:%M}"


@dataclass(frozen=True, slots=True)
class Explainer:
    """Writes the sentences of one plan's lines."""

    kitchen: Kitchen
    window: Window
    say: Say
    standings: dict[int, Standing]  # by node

    def sentences(self, line: Line, truck: Truck) -> tuple[str, ...]:
        """Return why so many packs of a line are on a truck."""
        first = min(line.purchases, key=lambda purchase: purchase.lack.on)
        return (
            *(self._lack(purchase) for purchase in line.purchases),
            self._standing(line),
            self._packs(line),
            self._delivery(first, line, truck),
            self._pack_choice(first),
            *self._brought(line, truck),
            *self._padding(line, truck),
        )

    def _lack(self, purchase: Purchase) -> str:
        node, lack = purchase.lack.node, purchase.lack
        name = self.kitchen.nodes.names[node]
        need = self.say(node, purchase.need_base)
        if lack.kind == ShortfallKind.BELOW_PAR:
            par = self.say(node, float(self.kitchen.nodes.par_base[node]))
            return (
                f"{name} would end {day_words(lack.on)} below its par of {par}, "
                f"short by {need}."
            )
        until = day_words(purchase.covers_to)
        if lack.kind == ShortfallKind.OUT:
            return (
                f"{name} runs out on {day_words(lack.on)}; up to {until} the plan "
                f"is short by {need}."
            )
        safety = self.say(node, float(self.kitchen.nodes.safety_base[node]))
        return (
            f"{name} falls below its safety of {safety} on {day_words(lack.on)}; "
            f"up to {until} the plan is short by {need}."
        )

    def _standing(self, line: Line) -> str:
        node = line.pack.node
        standing, nodes = self.standings[node], self.kitchen.nodes
        words = [
            f"On hand {self.say(node, standing.on_hand_base)}",
            f"on order {self.say(node, standing.on_order_base)}",
            f"used by {day_words(self.window.to_on)} "
            f"{self.say(node, standing.used_base)}",
        ]
        if standing.expired_base >= LEAST_LACK_BASE:
            words.append(f"out of date by then {self.say(node, standing.expired_base)}")
        if nodes.safety_base[node]:
            words.append(f"safety {self.say(node, float(nodes.safety_base[node]))}")
        if nodes.par_base[node]:
            words.append(f"par {self.say(node, float(nodes.par_base[node]))}")
        return f"{', '.join(words)}."

    def _packs(self, line: Line) -> str:
        pack, counts = line.pack, [purchase.count for purchase in line.purchases]
        words = [
            f"{line.packs} x {pack.label} hold "
            f"{self.say(pack.node, line.packs * pack.size_base)}"
        ]
        if for_minimum := sum(count.for_minimum for count in counts):
            words.append(
                f"{for_minimum} more than needed, as at least {pack.minimum_packs} "
                "are sold at a time"
            )
        if for_multiple := sum(count.for_multiple for count in counts):
            words.append(
                f"{for_multiple} more than needed, as they are sold by the "
                f"{pack.multiple}"
            )
        return f"{'; '.join(words)}."

    def _delivery(self, first: Purchase, line: Line, truck: Truck) -> str:
        delivery = truck.delivery
        name = self.kitchen.suppliers[delivery.supplier].name
        when = day_words(delivery.deliver_on)
        order_by = moment_words(delivery.order_by)
        if first.late_days:
            return (
                f"No delivery is in time: {name} on {when} is the first that helps, "
                f"{days_late_words(first.late_days)}; order by {order_by}."
            )
        if line.brought_from:
            return f"{name} comes on {when}; order by {order_by}."
        return f"{name} on {when} is the last delivery in time; order by {order_by}."

    def _pack_choice(self, first: Purchase) -> str:
        pack = first.pack
        price = f"{self._money(pack.price)} a pack"
        if first.passed_over is not None:
            other = first.passed_over
            supplier = self.kitchen.suppliers[other.supplier].name
            return (
                f"{other.label} from {supplier} would be first choice, but no delivery "
                f"of it is in time; {pack.label} is {price}."
            )
        if pack.preferred:
            return f"{pack.label} is the preferred pack, {price}."
        return f"{pack.label} is the cheapest by what it holds, {price}."

    def _brought(self, line: Line, truck: Truck) -> list[str]:
        name = self.kitchen.suppliers[truck.delivery.supplier].name
        return [
            f"Brought forward from {day_words(on)}: a delivery of {name} has to reach "
            f"its minimum order of {self._minimum(truck)}."
            for on in sorted(set(line.brought_from))
        ]

    def _padding(self, line: Line, truck: Truck) -> list[str]:
        if not line.padded_packs:
            return []
        return [
            f"{line.padded_packs} of the {line.packs} are there to reach the minimum "
            f"order of {self._minimum(truck)}, of which the goods were short by "
            f"{self._money(truck.lacked)}."
        ]

    def _minimum(self, truck: Truck) -> str:
        return self._money(
            self.kitchen.suppliers[truck.delivery.supplier].minimum_order
        )

    def _money(self, money: Decimal) -> str:
        places = (
            f"{money:.2f}" if money == round(money, 2) else f"{money.normalize():f}"
        )
        return f"{self.kitchen.bakery.currency} {places}"
