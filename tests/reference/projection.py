"""Every item, day by day: what opens, comes, goes, is past its date and is left."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from tests.reference.kitchen import Item, Kitchen, use_by


@dataclass
class Shelf:
    """Some of an item, all with one use-by, usable from a day on."""

    amount: Fraction
    last_day: date | None
    usable_from: date


@dataclass
class Bought:
    """What is ordered on top: an amount that comes on a day, usable from another."""

    amount: Fraction
    comes_on: date
    usable_on: date


@dataclass
class Day:
    day: date
    opening: Fraction
    received: Fraction
    used: Fraction
    expired: Fraction
    closing: Fraction
    outstanding: Fraction  # wanted by the end of the day, and not there
    earliest_taken: date | None = None  # use-by of what the day's use takes


@dataclass
class ItemPlan:
    item: Item
    days: list[Day]
    left: list[Shelf] = field(default_factory=list)


def project(
    kitchen: Kitchen,
    item: Item,
    used_by_day: dict[date, Fraction],
    days: list[date],
    bought: Sequence[Bought] = (),
) -> ItemPlan:
    name = item.name.casefold()
    shelves = [
        Shelf(lot.amount, lot.use_by, days[0]) for lot in kitchen.stock.get(name, [])
    ]
    plan = ItemPlan(item, [], shelves)
    closing = sum((shelf.amount for shelf in shelves), Fraction(0))
    outstanding = Fraction(0)
    for day in days:
        opening = closing
        expired = throw_out(shelves, day)
        received = receive(kitchen, item, shelves, day)
        received += bring(item, shelves, day, bought)
        used = used_by_day.get(day, Fraction(0))
        before = [shelf.amount for shelf in shelves]
        outstanding = take(shelves, day, outstanding + used)
        closing = opening + received - expired - used
        taken = [
            shelf.last_day
            for shelf, amount in zip(shelves, before, strict=True)
            if used and shelf.amount < amount and shelf.last_day is not None
        ]
        earliest = min(taken, default=None)
        plan.days.append(
            Day(day, opening, received, used, expired, closing, outstanding, earliest)
        )
    return plan


def throw_out(shelves: list[Shelf], day: date) -> Fraction:
    """Take out what was last usable before `day`."""
    thrown = Fraction(0)
    for shelf in shelves:
        if shelf.last_day is not None and shelf.last_day < day:
            thrown += shelf.amount
            shelf.amount = Fraction(0)
    return thrown


def receive(kitchen: Kitchen, item: Item, shelves: list[Shelf], day: date) -> Fraction:
    received = Fraction(0)
    for order in kitchen.open_orders:
        if order.item == item.name.casefold() and order.due == day:
            same_day = kitchen.suppliers[order.supplier].same_day
            usable_from = day if same_day else day + timedelta(days=1)
            last_day = use_by(day, item.keeps_days)
            shelves.append(Shelf(order.amount, last_day, usable_from))
            received += order.amount
    return received


def bring(
    item: Item, shelves: list[Shelf], day: date, bought: Sequence[Bought]
) -> Fraction:
    brought = [each for each in bought if each.comes_on == day]
    for each in brought:
        last_day = use_by(day, item.keeps_days)
        shelves.append(Shelf(each.amount, last_day, each.usable_on))
    return sum((each.amount for each in brought), Fraction(0))


def take(shelves: list[Shelf], day: date, wanted: Fraction) -> Fraction:
    """Take what is wanted, earliest use-by first; return what was not there."""
    usable = [shelf for shelf in shelves if shelf.usable_from <= day]
    for shelf in sorted(usable, key=lambda shelf: shelf.last_day or date.max):
        amount = min(shelf.amount, wanted)
        shelf.amount -= amount
        wanted -= amount
    return wanted
