"""A plan is worked out once for a kitchen, and anew as soon as anything changes."""

from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest
from django.db import transaction

from planning.engine.fingerprint import exact_fingerprint
from planning.models import Order, PlannedCake, RecipeLine
from planning.plan import plan_cache
from planning.plan.outlook import look_ahead
from planning.plan.plan_json import plan_as_json
from planning.plan.planner import make_plan
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery, Item, Pack, Supplier
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


@pytest.fixture(autouse=True)
def _nothing_kept():
    plan_cache._kept.cache_clear()


@pytest.fixture(autouse=True)
def _kitchen():
    build.dairy_kitchen()
    supplier, pack = Supplier.objects.get(), Pack.objects.first()
    build.order(supplier, state=Order.State.APPROVED, lines=[(pack, 1)])


@pytest.fixture
def exploded(monkeypatch):
    """At which moments the engine has exploded the bake plan."""
    moments = []

    def explode(kitchen, window):
        moments.append(window.as_of)
        return plan_cache_explode(kitchen, window)

    plan_cache_explode = plan_cache.explode
    monkeypatch.setattr(plan_cache, "explode", explode)
    return moments


def planned(at=NOON):
    return make_plan(bakery=Bakery.objects.get(), as_of=at)


def plan(at=NOON):
    return plan_as_json(planned(at))


def plan_worked_out_anew(at=NOON):
    plan_cache._kept.cache_clear()
    return plan(at)


def test_pages_and_jobs_share_the_work_of_one_kitchen(exploded):
    first = planned()

    second, outlook = (
        planned(NOON + SECOND),
        look_ahead(bakery=Bakery.objects.get(), as_of=NOON),
    )

    assert exploded == [NOON]
    assert second.plan.purchasing is first.plan.purchasing
    assert second.still_lacking is first.still_lacking
    assert outlook.shortfalls is first.plan.shortfalls
    assert second.plan.window.as_of == NOON + SECOND


CHANGES = {
    "a delivery came": lambda: build.stock(Item.objects.get(name="butter"), 40),
    "an item is called otherwise": lambda: Item.objects.filter(name="butter").update(
        name="cultured butter"
    ),
    "a price": lambda: Pack.objects.update(price=Decimal("9.99")),
    "a cut-off": lambda: Supplier.objects.update(cutoff_days=2),
    "a closed day": lambda: Bakery.objects.update(closed_days="Tue Fri"),
    "a cake more": lambda: PlannedCake.objects.update(quantity=9),
    "a recipe line": lambda: RecipeLine.objects.update(quantity_base=33),
    "an order is sent": lambda: Order.objects.update(state=Order.State.SENT),
    "an order is cancelled": lambda: Order.objects.update(state=Order.State.CANCELLED),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_whatever_is_stored_makes_another_plan(change):
    before = plan()

    change()

    after = plan()
    assert after != before
    assert after == plan_worked_out_anew()


def test_what_is_rolled_back_leaves_the_plan_as_it_was():
    before = plan()

    with transaction.atomic():
        Pack.objects.update(price=Decimal("9.99"))
        within = plan()
        transaction.set_rollback(True)

    assert within != before == plan()


def test_every_cut_off_that_passes_makes_another_plan():
    cut_offs = sorted({each.order_by for each in planned().deliveries})

    assert cut_offs
    for cut_off in cut_offs:
        kept = [plan(cut_off), plan(cut_off + SECOND)]
        assert kept == [plan_worked_out_anew(at) for at in (cut_off, cut_off + SECOND)]


def test_how_amounts_are_said_is_read_anew():
    butter = Item.objects.get(name="butter")
    node = planned().node_by_id[butter.pk]
    before = planned().words.short(node, 1_000)

    Item.objects.filter(pk=butter.pk).update(speaks="customary")

    assert before == "1 kg"
    assert planned().words.short(node, 1_000) == "2 lb 3 oz"


def test_nobody_can_write_into_a_kept_plan():
    kept = planned().plan

    with pytest.raises(ValueError, match="read-only"):
        kept.projection.closing_base[0, 0] = 1
    with pytest.raises(ValueError, match="read-only"):
        kept.demand.amount_base[0] = 1


def another(value):
    """A value of the same kind that is not this one."""
    if isinstance(value, np.ndarray):
        if not len(value):
            return np.ones(1, value.dtype)
        return ~value if value.dtype == np.bool_ else value + 1
    if isinstance(value, bool):
        return not value
    if isinstance(value, frozenset):
        return value ^ ({6} if value <= set(range(7)) else {date(2026, 1, 1)})
    if isinstance(value, tuple | list):
        return [*value, *value[:1], "another"]
    return object()


def altered(part):
    """Yield a part of a kitchen with each of its fields altered, by their names."""
    if isinstance(part, tuple):
        assert part
        for name, changed in altered(part[0]):
            yield name, (changed, *part[1:])
        yield "one fewer", part[1:]
        return
    assert is_dataclass(part)
    for field in fields(part):
        if field.init:
            changed = replace(part, **{field.name: another(getattr(part, field.name))})
            yield field.name, changed


def test_no_field_of_a_kitchen_is_left_out_of_its_fingerprint():
    kitchen = load_kitchen(bakery=Bakery.objects.get(), as_of=NOON)
    kitchen = replace(kitchen, shop_packs=kitchen.packs[:1])

    same = [
        f"{part.name}.{name}"
        for part in fields(kitchen)
        for name, changed in altered(getattr(kitchen, part.name))
        if exact_fingerprint(replace(kitchen, **{part.name: changed}))
        == exact_fingerprint(kitchen)
    ]

    assert same == []


def test_a_kitchen_that_is_read_again_has_the_same_fingerprint():
    first, again = (
        exact_fingerprint(load_kitchen(bakery=Bakery.objects.get(), as_of=NOON))
        for _ in range(2)
    )

    assert first == again
