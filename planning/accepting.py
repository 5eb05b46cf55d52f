"""Making changes true that were tried out: through the jobs that keep each of them."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db import transaction

from planning.bakeplan import keep_planned_cakes, set_status
from planning.engine.trying import what_if as changes
from planning.models import PlannedCake
from planning.what_if import Understood
from stock import calendars, keeping
from stock.bakery import keep_settings, setting_rows
from stock.entries import folded
from stock.models import Bakery, Pack, Supplier
from stock.packs import keep_packs
from stock.suppliers import keep_suppliers

# What is on hand is counted or corrected, not wished for.
NEVER_ACCEPTED = (changes.SetOnHand,)


def can_accept(understood: Understood) -> bool:
    """Whether a change is one that is made from here."""
    return not isinstance(understood.change, NEVER_ACCEPTED)


@transaction.atomic
def accept_changes(accepted: Iterable[Understood]) -> int:
    """Make changes, all or none; return how many. A new cake is tentative.

    A closed day and a dropped delivery are kept with those that are there already; an
    order that is out for such a delivery is not cancelled by it.
    """
    keeping.wait_for_turn()
    count = 0
    for understood in accepted:
        if can_accept(understood):
            _accept(understood.change, understood.values)
            count += 1
    return count


def _accept(change: changes.Change, values: Mapping[str, Any]) -> None:
    match change:
        case changes.AddCake():
            entry = {**values, "status": PlannedCake.Status.TENTATIVE}
            keep_planned_cakes([entry], ids=[None])
        case changes.DropCake(reference):
            planned = PlannedCake.objects.get(reference=reference)
            set_status(planned.pk, PlannedCake.Status.CANCELLED)
        case changes.MoveCake(reference, due_on):
            keep_planned_cakes([{"reference": reference, "due": due_on}])
        case changes.CloseDay(on):
            closed_on = _with_day(Bakery.objects.get().closed_on, on)
            keep_settings(setting_rows({"closed_on": closed_on}))
        case changes.SkipDelivery():
            _skip(values["supplier"], values["day"])
        case changes.NewPrice(pack_id, price):
            pack = Pack.objects.select_related("supplier", "item").get(pk=pack_id)
            entry = {"supplier": pack.supplier.name, "item": pack.item.name}
            keep_packs([{**entry, "pack": pack.label, "price": price}])


def _skip(name: str, on: date) -> None:
    # The database tells Ö from ö, so names are compared here.
    supplier = keeping.by_name(Supplier.objects.all())[(folded(name),)]
    closed_on = _with_day(supplier.closed_on, on)
    keep_suppliers([{"supplier": supplier.name, "closed_on": closed_on}])


def _with_day(dates: str, on: date) -> str:
    known = {*calendars.parse_dates(dates), on}
    return "; ".join(day.isoformat() for day in sorted(known))
