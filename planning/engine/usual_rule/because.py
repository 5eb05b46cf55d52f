"""Why a line is on an order, in a few sentences with their figures.

What is missing and for which cakes; how the item stands; what the packs come to and
how they are bought; with which delivery. What was done for a minimum order follows.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from planning.engine.cakes_named import cakes_words
from planning.engine.costing import line_cost, packs_to_buy
from planning.engine.decided import ComingLine, decided_words
from planning.engine.deliveries import Delivery, use_by_on
from planning.engine.kitchen import Kitchen, PackTerms, Window
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import days_late_words
from planning.engine.shortfalls.shortfalls import CakesBehind
from planning.engine.usual_rule.purchases import Purchase
from planning.engine.usual_rule.standing import (
    SaidBase,
    Say,
    Sayings,
    Standing,
    standing_words,
)
from planning.engine.usual_rule.trucks import Line, Truck
from planning.engine.words import capitalized, day_words, moment_words
from stock.measures.units import plural
from stock.wording.money_words import money_words, price_words

# Of what is bought: a smaller rest is none to speak of.
LEAST_OVER_FRACTION = 0.01
JUST_ENOUGH = "just what is needed"


def plain_words(kitchen: Kitchen) -> Say:
    """Return words for amounts: the base unit, to a tenth."""

    def say(node: int, amount_base: float) -> str:
        figure = f"{amount_base:,.1f}".removesuffix(".0")
        return f"{figure} {kitchen.nodes.units[node]}"

    return say


@dataclass(frozen=True, slots=True)
class Explainer:
    """Writes the sentences of one plan's lines.

    `say` words an amount as it is counted, `content` what is in the packs: 2 cases
    are 72 lb. Left out, `content` is the same. With
    `said_base` and `exactly`, figures add up as they are said.
    """

    kitchen: Kitchen
    window: Window
    say: Say
    standings: dict[int, Standing]  # by node
    content: Say | None = None
    said_base: SaidBase | None = None
    exactly: Say | None = None
    cakes_behind: CakesBehind | None = None
    decided: Sequence[ComingLine] = ()
    packs_by_node: dict[int, int] = field(init=False)  # how many kinds are sold
    sayings: Sayings = field(init=False)

    def __post_init__(self) -> None:
        packs_by_node: dict[int, int] = {}
        for pack in self.kitchen.packs:
            packs_by_node[pack.node] = packs_by_node.get(pack.node, 0) + 1
        object.__setattr__(self, "packs_by_node", packs_by_node)
        sayings = Sayings(
            self.say, self.content or self.say, self.said_base, self.exactly
        )
        object.__setattr__(self, "sayings", sayings)

    def sentences(self, line: Line, truck: Truck) -> tuple[str, ...]:
        """Return why so many packs of a line are on a truck."""
        if not line.purchases:
            return self._only_decided(line, truck)
        first = min(line.purchases, key=lambda purchase: purchase.lack.on)
        return (
            *(self._lack(purchase) for purchase in line.purchases),
            self._standing(line),
            *self._decided(line),
            self._packs(line, first, truck),
            *self._keeping(line, truck),
            self._delivery(first, line, truck),
            *self._passed_over(first),
            *self._next_best(first, line, truck),
            *self._brought(line, truck),
            *self._padding(line, truck),
        )

    def _only_decided(self, line: Line, truck: Truck) -> tuple[str, ...]:
        """Return why a line is there that nothing asked for but a person."""
        return (
            *self._decided(line),
            self._standing(line),
            *self._keeping(line, truck),
            self._comes(truck.delivery),
            *self._padding(line, truck),
        )

    def _decided(self, line: Line) -> list[str]:
        """Return what somebody has decided on brings of an item, a line's own first."""
        mine = [each for each in self.decided if each.pack.node == line.pack.node]
        mine.sort(key=lambda each: each not in line.decided)
        return [
            decided_words(each, counted_packs(each.pack, each.line.packs))
            for each in mine
        ]

    def _comes(self, delivery: Delivery) -> str:
        name = self.kitchen.suppliers[delivery.supplier].name
        when = day_words(delivery.deliver_on)
        return f"{name} comes on {when}; order by {moment_words(delivery.order_by)}."

    def _in(self, node: int, amount_base: float) -> str:
        return self.sayings.content(node, amount_base)

    def _lack(self, purchase: Purchase) -> str:
        node, lack, nodes = purchase.lack.node, purchase.lack, self.kitchen.nodes
        name, need = capitalized(nodes.names[node]), self._in(node, purchase.need_base)
        to_par = f"{need} to reach par on {day_words(purchase.covers_to)}"
        if lack.kind == ShortfallKind.BELOW_PAR:
            return f"{name}: {to_par}."
        if lack.kind == ShortfallKind.OUT:
            what = "out"
        else:
            what = f"below the safety of {self._safety(node)}"
        missing = to_par
        if purchase.is_sparing:
            missing = f"{need} of that is spared by what is used before"
        elif not purchase.is_to_par:
            missing = f"{need} needed by {day_words(purchase.covers_to)}"
            missing += self._counted(node)
        on = day_words(lack.on)
        return f"{name}: {what} on {on}{self._cakes(purchase)}; {missing}."

    def _comes_to_base(self, line: Line) -> Fraction | None:
        """Return what goes less what is there, by what is said to be needed of a line.

        None where that is another sum, of other days, that nobody would add up.
        """
        if len(line.purchases) != 1:
            return None
        [purchase] = line.purchases
        node, nodes = purchase.lack.node, self.kitchen.nodes
        levels = nodes.par_base if purchase.is_to_par else nodes.safety_base
        standing, level_base = self.standings[node], float(levels[node])
        wanted_base = standing.used_base + standing.expired_base + level_base
        there_base = standing.on_hand_base + standing.on_order_base
        if abs(wanted_base - there_base - purchase.need_base) >= LEAST_LACK_BASE:
            return None
        need_base = self._said(node, purchase.need_base)
        return need_base - self._said(node, level_base)

    def _said(self, node: int, amount_base: float) -> Fraction:
        return self.sayings.as_said(node, amount_base, self._in)

    def _safety(self, node: int) -> str:
        return self._in(node, float(self.kitchen.nodes.safety_base[node]))

    def _cakes(self, purchase: Purchase) -> str:
        if self.cakes_behind is None:
            return ""
        lack = purchase.lack
        behind = self.cakes_behind(lack.node, [lack.on])
        cakes = cakes_words(self.kitchen, behind)
        return f", for {cakes}" if cakes else ""

    def _counted(self, node: int) -> str:
        """Return what the need holds besides what cakes take."""
        return ", safety counted" if self.kitchen.nodes.safety_base[node] else ""

    def _standing(self, line: Line) -> str:
        node = line.pack.node
        return standing_words(
            self.kitchen,
            self.window,
            node,
            self.standings[node],
            self.sayings,
            self._comes_to_base(line),
        )

    def _packs(self, line: Line, first: Purchase, truck: Truck) -> str:
        pack, packs = truck.charged(line), line.packs
        held_base = packs * pack.size_base
        bought_base = (packs - line.decided_packs) * pack.size_base
        over_base = bought_base - sum(purchase.need_base for purchase in line.purchases)
        if any(purchase.is_sparing for purchase in line.purchases):
            over = "used first, so that older stock is left"
        elif over_base >= bought_base * LEAST_OVER_FRACTION:
            over = self._over(line, bought_base, over_base)
        else:
            over = JUST_ENOUGH
        return (
            f"{counted_packs(pack, packs)} at {self._price(pack, packs)}"
            f"{self._liking(first)} {'is' if packs == 1 else 'are'} "
            f"{self._in(pack.node, held_base)}: {over}{_rules(line)}."
        )

    def _over(self, line: Line, bought_base: float, over_base: float) -> str:
        """Return how much more is bought than needed, by the two as they are said."""
        node, words = line.pack.node, self._in(line.pack.node, over_base)
        if self.said_base is not None:
            needs = [self._said(node, each.need_base) for each in line.purchases]
            bought = self._said(node, bought_base)
            rest = bought - sum(needs)
            if rest < bought * Fraction(LEAST_OVER_FRACTION):
                return JUST_ENOUGH
            words = self.sayings.just(node, rest) or words
        return f"{words} more than needed"

    def _keeping(self, line: Line, truck: Truck) -> list[str]:
        """Return how long the goods keep, where that ends within the plan."""
        came_on = truck.delivery.deliver_on
        keeps_days = int(self.kitchen.nodes.keeps_days[line.pack.node])
        use_by = use_by_on(keeps_days, came_on)
        if use_by is None or use_by >= self.window.to_on:
            return []
        return [f"What comes on {day_words(came_on)} keeps until {day_words(use_by)}."]

    def _liking(self, first: Purchase) -> str:
        """Return why this pack rather than another."""
        if first.pack.preferred:
            return ", the preferred pack,"
        if self.packs_by_node.get(first.pack.node, 0) == 1:
            return ", the only pack sold,"
        if first.passed_over is not None:
            return ", the next best pack,"
        return ", the cheapest for what it holds,"

    def _price(self, pack: PackTerms, packs: int) -> str:
        price, currency = pack.price_at(packs), self.kitchen.bakery.currency
        words = f"{price_words(price, currency)}{' each' if packs > 1 else ''}"
        if price == pack.price:
            return words
        begins = max(
            step.from_packs for step in pack.breaks if packs >= step.from_packs
        )
        usual = price_words(pack.price, currency)
        return f"{words} (from {begins:,} on, else {usual})"

    def _delivery(self, first: Purchase, line: Line, truck: Truck) -> str:
        delivery = truck.delivery
        name = self.kitchen.suppliers[delivery.supplier].name
        when = day_words(delivery.deliver_on)
        order_by = moment_words(delivery.order_by)
        if first.late_days:
            there_on = first.lack.on + timedelta(days=first.late_days)
            comes = late_delivery_words(self.kitchen, delivery, there_on)
            return (
                f"No delivery is in time: {comes} is the first that helps, "
                f"{days_late_words(first.late_days)}; order by {order_by}."
            )
        if line.brought_from or first.is_sparing:
            return self._comes(delivery)
        return f"{name} on {when} is the last delivery in time; order by {order_by}."

    def _passed_over(self, first: Purchase) -> list[str]:
        other = first.passed_over
        if other is None:
            return []
        supplier = self.kitchen.suppliers[other.supplier].name
        return [
            f"{other.label} from {supplier} would come first, but no delivery of it "
            "is in time."
        ]

    def _next_best(self, first: Purchase, line: Line, truck: Truck) -> list[str]:
        """Return what the pack that is liked next would have cost for the same need."""
        if first.next_best is None:
            is_only_one_late = first.passed_over is not None
            if is_only_one_late or self.packs_by_node.get(line.pack.node, 0) < 2:
                return []
            return ["No other pack of it is in time."]
        pack, delivery = first.next_best
        packs = sum(
            packs_to_buy(purchase.need_base, pack).packs for purchase in line.purchases
        )
        bought = sum(purchase.count.packs for purchase in line.purchases)
        cost = line_cost(pack.on(delivery.deliver_on), packs)
        mine = line_cost(truck.charged(line), bought)
        offer = (
            f"{counted_packs(pack, packs)} from "
            f"{self.kitchen.suppliers[delivery.supplier].name} on "
            f"{day_words(delivery.deliver_on)}"
        )
        instead = f"{self._money(cost)} instead of {self._money(mine)}"
        if cost >= mine:
            return [f"The next best: {offer}, goods for {instead}."]
        is_preferred = line.pack.preferred and not pack.preferred
        rule = (
            "takes the preferred pack"
            if is_preferred
            else "goes by the price of a pack for what it holds"
        )
        return [
            f"The goods would cost less as {offer}, {instead}, but the usual rule "
            f"{rule}."
        ]

    def _brought(self, line: Line, truck: Truck) -> list[str]:
        name = self.kitchen.suppliers[truck.delivery.supplier].name
        minimum = self._minimum(truck)
        why = (
            f"so that this delivery of {name} reaches its minimum order of {minimum}"
            if truck.lacked
            else f"when {name} would not reach its minimum order of {minimum}"
        )
        return [
            f"Moved up from {day_words(on)}, {why}."
            for on in sorted(set(line.brought_from))
        ]

    def _padding(self, line: Line, truck: Truck) -> list[str]:
        if not line.padded_packs:
            return []
        verb = "is" if line.padded_packs == 1 else "are"
        return [
            f"{line.padded_packs:,} of the {line.packs:,} {verb} there only to reach "
            f"the minimum order of {self._minimum(truck)}: the goods were "
            f"{self._money(truck.lacked)} short of it."
        ]

    def _minimum(self, truck: Truck) -> str:
        return self._money(
            self.kitchen.suppliers[truck.delivery.supplier].minimum_order
        )

    def _money(self, money: Decimal) -> str:
        return money_words(money, self.kitchen.bakery.currency)


def late_delivery_words(kitchen: Kitchen, delivery: Delivery, there_on: date) -> str:
    """Return a delivery with its day, and the day of use where that is the next one.

    How late it is counts up to the day of use.
    """
    came_on = delivery.deliver_on
    usable = f", usable on {day_words(there_on)}," if there_on > came_on else ""
    return (
        f"{kitchen.suppliers[delivery.supplier].name} on {day_words(came_on)}{usable}"
    )


def counted_packs(pack: PackTerms, packs: int) -> str:
    """Return so many packs in the words that they go by: 2 cases."""
    if not pack.called:
        return f"{packs:,} \N{MULTIPLICATION SIGN} {pack.label}"
    return f"{packs:,} {pack.called if packs == 1 else plural(pack.called)}"


def _rules(line: Line) -> str:
    """Return how the supplier sells the pack, where that made the order larger."""
    pack, counts = line.pack, [purchase.count for purchase in line.purchases]
    at_least = any(count.for_minimum for count in counts)
    by_the = any(count.for_multiple for count in counts)
    if at_least and by_the:
        least, multiple = f"{pack.minimum_packs:,}", f"{pack.multiple:,}"
        return f", as at least {least} are sold, {multiple} at a time"
    if at_least:
        return f", as at least {pack.minimum_packs:,} are sold"
    return f", as they are sold {pack.multiple:,} at a time" if by_the else ""
