"""Making changes true that were tried out: through the jobs that keep each of them.

A change of a stored row (a planned cake, a pack) carries that row as it was when the
change was tried. What somebody else has changed since is not written over.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import (
    keep_planned_cakes,
    planned_cake_entry,
    set_status,
)
from planning.engine.scenarios import what_if as changes
from planning.entry.sheets import BAKE_PLAN
from planning.models import PlannedCake
from planning.scenarios.what_if import Understood
from planning.scenarios.what_if_kinds import SEEN
from planning.scenarios.what_if_names import WhatIfError
from stock.bakery import keep_settings, setting_rows
from stock.calendar import calendars
from stock.entry.entries import Sheet, folded
from stock.models import Bakery, Pack, Supplier
from stock.saving import upsert
from stock.saving.sheets import PACKS
from stock.suppliers.packs import keep_packs, pack_entry
from stock.suppliers.suppliers import keep_suppliers

# What is on hand is counted or corrected, not wished for.
NEVER_ACCEPTED = (changes.SetOnHand,)
BLANK = "blank"


RowKey = tuple[str, str | int]


@dataclass(frozen=True, slots=True)
class StoredRow:
    """A row that a change is about: its version, and its columns as texts."""

    name: str
    version: int
    says: dict[str, str]  # by the column's heading

    def as_text(self) -> str:
        """Return it as it is kept with a change that waits."""
        return json.dumps([self.version, self.says])


def can_accept(understood: Understood) -> bool:
    """Whether a change is one that is made from here."""
    return not isinstance(understood.change, NEVER_ACCEPTED)


@transaction.atomic
def accept_changes(accepted: Iterable[Understood]) -> int:
    """Make changes, all or none; return how many. A new cake is tentative.

    Refused where somebody has changed a cake or a pack since it was tried. A closed day
    and a dropped delivery are kept with those that are there already; an order that is
    out for such a delivery is not cancelled by it.
    """
    upsert.wait_for_turn()
    made = [understood for understood in accepted if can_accept(understood)]
    for sentence in filter(None, changed_since(made)):
        raise WhatIfError("", sentence)
    for understood in made:
        _accept(understood.change, understood.values)
    return len(made)


def row_as_tried(understood: Understood) -> dict[str, str]:
    """Return the row that a change is about, to be kept with it; {} where none is."""
    row = _stored_rows([understood.change]).get(_row_key(understood.change))
    return {} if row is None else {SEEN.name: row.as_text()}


def changed_since(understood: Sequence[Understood]) -> list[str]:
    """Return for each change what somebody changed since it was tried, or blank.

    Both are said: what the row was when it was tried, and what it is now. Two queries
    at most.
    """
    rows = _stored_rows([each.change for each in understood])
    return [
        _changed_words(
            rows.get(_row_key(each.change)), each.values.get(SEEN.name) or ""
        )
        for each in understood
    ]


def _changed_words(row: StoredRow | None, seen: str) -> str:
    if row is None or seen == row.as_text():
        return ""
    was = json.loads(seen)[1] if seen else row.says
    differences = [
        _("{name} was {value}, is {value2}").format(
            name=name, value=was.get(name) or BLANK, value2=now or BLANK
        )
        for name, now in row.says.items()
        if was.get(name, "") != now
    ]
    said = f": {'; '.join(differences)}" if differences else ""
    return _(
        "{name} was changed after you tried this{said}. Undo this change, "
        "then try it again."
    ).format(name=row.name, said=said)


def _row_key(change: changes.PlanChange) -> RowKey | None:
    match change:
        case changes.DropCake(reference) | changes.MoveCake(reference):
            return BAKE_PLAN.name, reference
        case changes.NewPrice(pack_id):
            return PACKS.name, pack_id
    return None


def _stored_rows(about: Iterable[changes.PlanChange]) -> dict[RowKey | None, StoredRow]:
    keys = {key for change in about if (key := _row_key(change))}
    references = [str(key) for sheet, key in keys if sheet == BAKE_PLAN.name]
    pack_ids = [int(key) for sheet, key in keys if sheet == PACKS.name]
    rows: dict[RowKey | None, StoredRow] = {}
    if references:
        cakes = PlannedCake.objects.select_related("cake__item")
        for cake in cakes.filter(reference__in=references):
            says = _texts(BAKE_PLAN, planned_cake_entry(cake))
            row = StoredRow(cake.reference, cake.version, says)
            rows[BAKE_PLAN.name, cake.reference] = row
    if pack_ids:
        packs = Pack.objects.select_related("supplier", "item")
        for pack in packs.filter(pk__in=pack_ids):
            name = _("{label} of {name} from {name2}").format(
                label=pack.label, name=pack.item.name, name2=pack.supplier.name
            )
            row = StoredRow(name, pack.version, _texts(PACKS, pack_entry(pack)))
            rows[PACKS.name, pack.pk] = row
    return rows


def _texts(sheet: Sheet, entry: Mapping[str, Any]) -> dict[str, str]:
    columns = [sheet.column(name) for name in entry]
    return {column.heading: column.text(entry[column.name]) for column in columns}


def _accept(change: changes.PlanChange, values: Mapping[str, Any]) -> None:
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
            closed_on = _with_day(Bakery.current().closed_on, on)
            keep_settings(setting_rows({"closed_on": closed_on}))
        case changes.SkipDelivery():
            _close_supplier_on(values["supplier"], values["day"])
        case changes.NewPrice(pack_id, price):
            pack = Pack.objects.select_related("supplier", "item").get(pk=pack_id)
            entry = {"supplier": pack.supplier.name, "item": pack.item.name}
            keep_packs([{**entry, "pack": pack.label, "price": price}])


def _close_supplier_on(name: str, on: date) -> None:
    # The database tells Ö from ö, so names are compared here.
    supplier = upsert.by_name(Supplier.objects.all())[(folded(name),)]
    closed_on = _with_day(supplier.closed_on, on)
    keep_suppliers([{"supplier": supplier.name, "closed_on": closed_on}])


def _with_day(dates: str, on: date) -> str:
    known = {*calendars.parse_dates(dates), on}
    return "; ".join(day.isoformat() for day in sorted(known))
