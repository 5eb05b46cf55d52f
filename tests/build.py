"""Rows for tests: plain functions that fill in what a test does not speak of.

Typed quantities are given as figures in the base unit; the text beside them is made
from the figure, so that the two agree.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import count

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User

from planning.models import Order, OrderLine, PlannedCake, Recipe, RecipeLine
from stock.ledger import ledger
from stock.models import Bakery, Item, Movement, Pack, Place, Substitute, Supplier

MONDAY = date(2026, 5, 4)
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)  # of that Monday
BASE_UNITS = {"mass": "g", "volume": "mL", "count": "each"}

_numbers = count(1)


def bakery(**fields):
    kitchen, _ = Bakery.objects.update_or_create(pk=1, defaults=fields)
    return kitchen


def user(username="ada", **fields) -> User:
    fields = {"password": "flour-and-water"} | fields
    return get_user_model().objects.create_user(username, **fields)


def place(name=None, **fields) -> Place:
    return Place.objects.create(name=name or _a_name("shelf"), **fields)


def item(
    name=None, *, measure="mass", on_hand_base=None, at=NOON, place=None, **fields
) -> Item:
    """An ingredient kept by weight; with something on hand if the test says so."""
    for level in ("safety", "par"):
        base = fields.get(f"{level}_base")
        if base and level not in fields:
            fields[level] = quantity(base, measure)
    row = Item.objects.create(
        name=name or _a_name("item"), measure=measure, place=place, **fields
    )
    if on_hand_base is not None:
        stock(row, on_hand_base, place=place, at=at)
    return row


def part(name, *, whole, yields_base, measure="mass", **fields) -> Item:
    """A part that is taken from a whole: a white, a zest."""
    return item(
        name,
        kind=Item.Kind.PART,
        measure=measure,
        whole=whole,
        part_yields=quantity(yields_base, measure),
        part_yields_base=yields_base,
        **fields,
    )


def stock(
    item,
    amount_base,
    *,
    place=None,
    use_by=None,
    lot="",
    at=NOON,
    kind=Movement.Kind.IMPORTED,
    by=None,
    note="",
    key=None,
) -> int:
    """Move an amount onto a shelf, or off it where it is negative; return the lot."""
    shelf = place or item.place or Place.objects.first() or globals()["place"]()
    lot_id = ledger.lot_for(item_id=item.pk, use_by=use_by, code=lot)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=item.pk,
                place_id=shelf.pk,
                lot_id=lot_id,
                kind=kind,
                amount_base=Decimal(amount_base),
                at=at,
                note=note,
                key=key,
                by_id=by.pk if by else None,
            )
        ]
    )
    return lot_id


def supplier(name=None, **fields) -> Supplier:
    """A truck on Tuesdays and Fridays, ordered by 14:00 of the day before."""
    terms = {
        "delivery_days": "Tue Fri",
        "cutoff_days": 1,
        "cutoff_time": time(14),
    }
    return Supplier.objects.create(name=name or _a_name("supplier"), **terms | fields)


def pack(item, supplier=None, *, size_base=1_000, price="10", **fields) -> Pack:
    holds = quantity(size_base, item.measure)
    fields = {"label": f"pack of {holds}", "holds": holds} | fields
    return Pack.objects.create(
        item=item,
        supplier=supplier or globals()["supplier"](),
        size_base=size_base,
        price=Decimal(price),
        **fields,
    )


def substitute(item, stand_in, *, quantity_base=1, for_base=1, **fields) -> Substitute:
    """So much of another item in the place of so much of this one."""
    return Substitute.objects.create(
        item=item,
        substitute=stand_in,
        quantity=quantity(quantity_base, stand_in.measure),
        quantity_base=quantity_base,
        for_quantity=quantity(for_base, item.measure),
        for_quantity_base=for_base,
        **fields,
    )


def recipe(name=None, *, yield_base=1_000, measure="mass", lines=(), **fields):
    """A recipe for something made ahead; `lines` pairs components with amounts."""
    of_the_item = {
        field: fields.pop(field)
        for field in ("keeps_days", "par_base", "safety_base")
        if field in fields
    }
    made = item(
        name or _a_name("recipe"),
        kind=Item.Kind.CAKE if fields.get("is_cake") else Item.Kind.MADE,
        measure=measure,
        **of_the_item,
    )
    row = Recipe.objects.create(
        item=made,
        yields=quantity(yield_base, measure),
        yield_base=yield_base,
        **fields,
    )
    recipe_lines(row, lines)
    return row


def cake(name=None, *, base_size="8 in round x 3", lines=(), **fields) -> Recipe:
    """A cake: one each, due on the day it is made."""
    return recipe(
        name,
        yield_base=1,
        measure="count",
        is_cake=True,
        base_size=base_size,
        lines=lines,
        **fields,
    )


def recipe_lines(recipe, lines: Iterable[tuple]) -> list[RecipeLine]:
    return [
        recipe_line(recipe, component, quantity_base, position=position)
        for position, (component, quantity_base) in enumerate(lines)
    ]


def recipe_line(recipe, component, quantity_base=100, **fields) -> RecipeLine:
    """So much of an item, or of another recipe, for one batch."""
    component = component.item if isinstance(component, Recipe) else component
    fields = {"quantity": quantity(quantity_base, component.measure)} | fields
    return RecipeLine.objects.create(
        recipe=recipe, component=component, quantity_base=quantity_base, **fields
    )


def planned_cake(cake=None, *, due_on=MONDAY, quantity=1, **fields) -> PlannedCake:
    fields = {"reference": _a_name("cake")} | fields
    return PlannedCake.objects.create(
        cake=cake or globals()["cake"](), due_on=due_on, quantity=quantity, **fields
    )


def order(supplier, *, deliver_on=MONDAY, state=Order.State.SENT, lines=(), **fields):
    """An order that is on its way; `lines` pairs packs with how many of them."""
    fields = {"reference": _a_name("order")} | fields
    row = Order.objects.create(
        supplier=supplier, deliver_on=deliver_on, state=state, **fields
    )
    for pack_row, packs in lines:
        order_line(row, pack_row, packs)
    return row


def order_line(order, pack, packs=1, **fields) -> OrderLine:
    fields = {"due_on": order.deliver_on, "price": pack.price} | fields
    return OrderLine.objects.create(order=order, pack=pack, packs=packs, **fields)


def dairy_kitchen(*, sugar_base=100, also_on_saturday=()) -> Supplier:
    """A brick of butter for Wednesday, sugar by the bag for Saturday; trucks cost $15.

    The usual rule lets the dairy's truck come on Tuesday and on Friday: with one bag
    that is $43. Both on Tuesday are $28.
    """
    bakery(name="Crumb", currency="USD", time_zone="UTC")
    dairy = supplier("Dairy", delivery_fee=15)
    butter, sugar = item("butter"), item("sugar")
    pack(butter, dairy, size_base=500, price="10", label="brick")
    pack(sugar, dairy, size_base=100, price="3", label="bag")
    wednesday, saturday = MONDAY + timedelta(days=2), MONDAY + timedelta(days=5)
    planned_cake(cake(lines=[(butter, 500)]), due_on=wednesday)
    on_saturday = [(sugar, sugar_base), *also_on_saturday]
    planned_cake(cake(lines=on_saturday), due_on=saturday)
    return dairy


def dairy_and_mill_kitchen(
    *, sugar_base=100, flour_base=1_000, mill_days="Tue Fri"
) -> Bakery:
    """The dairy's, and flour for Saturday: sacks of 1 kg are $20, the truck $5."""
    mill = supplier("Mill", delivery_fee=5, delivery_days=mill_days)
    flour = item("flour")
    pack(flour, mill, size_base=1_000, price="20", label="sack")
    dairy_kitchen(sugar_base=sugar_base, also_on_saturday=[(flour, flour_base)])
    return Bakery.objects.get()


def quantity(amount_base, measure) -> str:
    """The figure as people would type it in the base unit: `250 g`."""
    return f"{Decimal(str(amount_base)).normalize():f} {BASE_UNITS[measure]}"


def _a_name(word) -> str:
    return f"{word} {next(_numbers)}"
