"""From planned cakes to what is made, and what of each item is needed, by day.

Recipes are taken parents first. For each one the made stock is taken off before
its own components are asked for anything.
"""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from tests.reference import sizes
from tests.reference.kitchen import Bake, Kitchen, Lot, Part, Recipe, use_by
from tests.reference.projection import project

NO_LACK = Fraction(1, 1000)  # base units
FORGIVEN = Fraction(1, 1_000_000)  # of a batch step or a pack


@dataclass
class Need:
    """What one parent (or customer) wants of something on a day."""

    day: date
    amount: Fraction
    references: frozenset[str]
    late: bool


@dataclass
class Making:
    recipe: Recipe
    day: date
    batches: Fraction
    amount: Fraction
    surplus: Fraction


@dataclass
class Explosion:
    makings: list[Making] = field(default_factory=list)
    # item or part or recipe: what is wanted of it
    needs: dict[str, list[Need]] = field(default_factory=lambda: defaultdict(list))
    # (day it is about, sentence)
    warnings: list[tuple[date, str]] = field(default_factory=list)


# The last day of what a recipe leaves over, by its folded name and its making day.
Caps = dict[tuple[str, date], date]


def explode(kitchen: Kitchen, start: date, bakes: list[Bake]) -> Explosion:
    """The explosion in which nothing unbaked outlives what went into it.

    A day's caps change later days alone, so this comes to rest.
    """
    caps: Caps = {}
    while True:
        explosion = Explorer(kitchen, start, caps).run(bakes)
        found = caps_of(kitchen, start, explosion)
        if found == caps:
            return explosion
        caps = found


def caps_of(kitchen: Kitchen, start: date, explosion: Explosion) -> Caps:
    caps: Caps = {}
    for making in explosion.makings:
        if not making.recipe.caps_use_by or not making.surplus:
            continue
        taken = [
            earliest_taken(kitchen, start, explosion, line.component, making.day)
            for line in making.recipe.lines
            if line.component in kitchen.items and line.quantity
        ]
        last_days = [day for day in taken if day is not None]
        if last_days:
            caps[making.recipe.name.casefold(), making.day] = min(last_days)
    return caps


def earliest_taken(
    kitchen: Kitchen, start: date, explosion: Explosion, item: str, day: date
) -> date | None:
    """The earliest use-by among the lots that the day's use of an item takes."""
    used: dict[date, Fraction] = defaultdict(Fraction)
    for need in explosion.needs.get(item, []):
        used[need.day] += need.amount
    days = [start + timedelta(days=n) for n in range((day - start).days + 1)]
    return project(kitchen, kitchen.items[item], used, days).days[-1].earliest_taken


class Explorer:
    """Works through one bake plan."""

    def __init__(self, kitchen: Kitchen, start: date, caps: "Caps") -> None:
        self.kitchen = kitchen
        self.start = start
        self.caps = caps
        self.out = Explosion()
        self.made = {
            name: [Lot(lot.amount, lot.use_by) for lot in lots]
            for name, lots in kitchen.stock.items()
            if name not in kitchen.items
        }
        for name in self.made:
            if name in kitchen.recipes and any(
                lot.use_by is None for lot in self.made[name]
            ):
                self._warn(start, f"{name} stands in stock without a use-by")

    def run(self, bakes: list[Bake]) -> Explosion:
        for cake in (r for r in self.kitchen.recipes.values() if r.is_cake):
            self._bake(cake, [b for b in bakes if self.kitchen.recipes[b.cake] is cake])
        for recipe in parents_first(self.kitchen.recipes):
            self._make(recipe)
        wholes = sorted({part.whole for part in self.kitchen.parts.values()})
        for whole in wholes:
            self._split(whole)
        return self.out

    def _warn(self, day: date, sentence: str) -> None:
        self.out.warnings.append((day, sentence))

    def day_before(self, parent_day: date, lead_days: int) -> tuple[date, int]:
        """The making day, and by how many days it is late."""
        day = parent_day - timedelta(days=lead_days)
        while self.kitchen.is_closed(day):
            day -= timedelta(days=1)
        return max(day, self.start), max(0, (self.start - day).days)

    def _bake(self, cake: Recipe, bakes: list[Bake]) -> None:
        amounts: dict[date, Fraction] = defaultdict(Fraction)
        late_by: dict[date, int] = defaultdict(int)
        for line in sorted(bakes, key=lambda b: (b.due, b.reference.casefold())):
            wanted = line.quantity - self._take(cake.name, line.due, line.quantity)
            if wanted < NO_LACK:
                continue
            day, days_late = self.day_before(line.due, cake.lead_days)
            amounts[day] += wanted
            late_by[day] = max(late_by[day], days_late)
            self._ask_for_cake(cake, line, wanted, day, late=days_late > 0)
        for day, amount in sorted(amounts.items()):
            self.out.makings.append(Making(cake, day, amount, amount, Fraction(0)))
            if late_by[day]:
                self._warn(day, f"{cake.name} is {late_by[day]} days late")

    def _ask_for_cake(
        self, cake: Recipe, bake: Bake, cakes: Fraction, day: date, *, late: bool
    ) -> None:
        for line in cake.lines:
            factor = sizes.factor(
                line.scales_with,
                bake.size,
                cake.base_size,
                self.kitchen.layer_height_in,
            )
            amount = cakes * factor * line.quantity / line.yield_fraction
            need = Need(day, amount, frozenset({bake.reference}), late)
            self.out.needs[line.component].append(need)

    def _take(self, name: str, day: date, wanted: Fraction) -> Fraction:
        """Take what is in date on `day`; say how much.

        Earliest use-by first, but a part that stands in Stock before what earlier
        days left over of it.
        """
        lots = self.made.get(name.casefold(), [])
        in_date = [lot for lot in lots if lot.use_by is None or lot.use_by >= day]
        taken = Fraction(0)
        for lot in sorted(
            in_date,
            key=lambda lot: (lot.left_over_on is not None, lot.use_by or date.max),
        ):
            amount = min(lot.amount, wanted - taken)
            lot.amount -= amount
            taken += amount
        return taken

    def _make(self, recipe: Recipe) -> None:
        by_day: dict[date, list[tuple[Need, int]]] = defaultdict(list)
        for need in pooled(self.out.needs[recipe.name.casefold()]):
            day, days_late = self.day_before(need.day, recipe.lead_days)
            by_day[day].append((need, days_late))
        for day, needs in sorted(by_day.items()):
            net = []
            days_late = 0
            for need, late_by in needs:
                left = need.amount - self._take(recipe.name, need.day, need.amount)
                if left:
                    late = need.late or late_by > 0
                    net.append(Need(need.day, left, need.references, late))
                    days_late = max(days_late, late_by)
            if total(net) >= NO_LACK:
                self._make_on(recipe, day, net, days_late)

    def _make_on(
        self, recipe: Recipe, day: date, net: list[Need], days_late: int
    ) -> None:
        wanted = total(net)
        batches = wanted / (1 - recipe.loss) / recipe.yields
        if recipe.batch_step:
            steps = math.ceil(batches / recipe.batch_step - FORGIVEN)
            batches = steps * recipe.batch_step
        if not batches:
            return
        amount = batches * recipe.yields
        surplus = max(Fraction(0), amount * (1 - recipe.loss) - wanted)
        last_day = use_by(day, recipe.keeps_days)
        self.out.makings.append(Making(recipe, day, batches, amount, surplus))
        cap = self.caps.get((recipe.name.casefold(), day))
        kept_to = min((d for d in (last_day, cap) if d is not None), default=None)
        self.made.setdefault(recipe.name.casefold(), []).append(Lot(surplus, kept_to))
        if days_late:
            self._warn(day, f"{recipe.name} is {days_late} days late")
        if last_day and any(need.day > last_day for need in net):
            self._warn(day, f"{recipe.name} of {day} is used past its keeping time")
        references = frozenset().union(*(need.references for need in net))
        late = any(need.late for need in net)
        for line in recipe.lines:
            need = Need(
                day, batches * line.quantity / line.yield_fraction, references, late
            )
            self.out.needs[line.component].append(need)

    def _split(self, whole: str) -> None:
        parts = [p for p in self.kitchen.parts.values() if p.whole == whole]
        wanted = {
            p.name: {need.day: need for need in pooled(self.out.needs[fold(p)])}
            for p in parts
        }
        one_whole = self.kitchen.items[whole].measure.one("each")
        for day in sorted({day for needs in wanted.values() for day in needs}):
            net = {}
            for part in parts:
                need = wanted[part.name].get(day)
                if need is not None:
                    left = need.amount - self._take(part.name, day, need.amount)
                    if left >= NO_LACK:
                        net[part.name] = Need(day, left, need.references, need.late)
            if not net:
                continue
            wholes = max(net[p.name].amount / p.yields for p in parts if p.name in net)
            self._leave_over(parts, net, wholes, day)
            references = frozenset().union(*(n.references for n in net.values()))
            late = any(need.late for need in net.values())
            self.out.needs[whole].append(
                Need(day, wholes * one_whole, references, late)
            )
        self._warn_of_left_over(parts)

    def _warn_of_left_over(self, parts: list[Part]) -> None:
        """What no later day took, from a tenth of a whole on."""
        for part in parts:
            for lot in self.made.get(fold(part), []):
                day = lot.left_over_on
                if day is not None and lot.amount >= max(part.yields / 10, NO_LACK):
                    amount = f"{float(lot.amount):g} of {part.name}"
                    self._warn(day, f"{amount} is left over on {day}")

    def _leave_over(
        self, parts: list[Part], net: dict[str, Need], wholes: Fraction, day: date
    ) -> None:
        for part in parts:
            used = net[part.name].amount if part.name in net else 0
            over = wholes * part.yields - used
            if over > 0:
                lot = Lot(over, use_by(day, part.keeps_days), left_over_on=day)
                self.made.setdefault(fold(part), []).append(lot)


def fold(part: Part) -> str:
    return part.name.casefold()


def total(needs: Iterable[Need]) -> Fraction:
    return sum((need.amount for need in needs), Fraction(0))


def pooled(needs: list[Need]) -> list[Need]:
    """One need a day, in order of day."""
    by_day: dict[date, list[Need]] = defaultdict(list)
    for need in needs:
        by_day[need.day].append(need)
    return [
        Need(
            day,
            total(group),
            frozenset().union(*(need.references for need in group)),
            any(need.late for need in group),
        )
        for day, group in sorted(by_day.items())
    ]


def parents_first(recipes: dict[str, Recipe]) -> list[Recipe]:
    """Every recipe that is not a cake, after all that use it."""
    users = {
        name: {
            user
            for user, recipe in recipes.items()
            for line in recipe.lines
            if line.component == name
        }
        for name in recipes
    }
    done: list[str] = []
    while len(done) < len(recipes):
        ready = [n for n in sorted(recipes) if n not in done and users[n] <= set(done)]
        if not ready:
            raise ValueError("a recipe contains itself")
        done += ready
    return [recipes[name] for name in done if not recipes[name].is_cake]
