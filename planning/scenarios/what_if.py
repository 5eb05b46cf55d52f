"""What if: changes as people type them, read against the kitchen they are about.

A change is a kind and an entry of texts, so that it can wait between two pages. Each
time it is read anew: what it names may be gone by then.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from planning.engine.demand import geometry
from planning.engine.kitchen import Kitchen
from planning.engine.scenarios import what_if as changes
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    PlanningError,
    SizeError,
)
from planning.plan.amount_words import AmountWords
from planning.plan.horizon import LONGEST_PLAN_DAYS, usual_days
from planning.plan.outlook import last_day_ahead
from planning.plan.planner import Planned, make_plan, plan_kitchen
from planning.plan.telling import Telling
from planning.scenarios.promise import cake_node
from planning.scenarios.sent_orders import closed_words, sent_for, skipped_words
from planning.scenarios.what_if_kinds import KINDS, SUBJECTS, WAS_DUE
from planning.scenarios.what_if_names import (
    Values,
    WhatIfError,
    item_node,
    one_pack,
    planned_reference,
    supplier_place,
)
from planning.sentences.words import capitalized, listed
from stock.calendar.calendars import FULL_NAMES
from stock.entry.entries import folded
from stock.errors import MeasureError
from stock.models import Bakery
from stock.wording.money_words import price_words

NOTHING = ("none", "0")


@dataclass(frozen=True, slots=True)
class Understood:
    """A change as it was understood."""

    kind: str
    values: dict[str, Any]
    change: changes.PlanChange
    words: str


@dataclass(frozen=True, slots=True)
class Around:
    """What a change is read against: the kitchen so far, and how things are said."""

    kitchen: Kitchen
    words: AmountWords
    tell: Telling
    today: date


@dataclass(frozen=True, slots=True)
class Comparison:
    """The plan as it is and as it would be."""

    real: Planned
    changed: Planned


def understand(kind: str, entry: Mapping[str, str], around: Around) -> Understood:
    """Return a typed change, or raise what is wrong with it."""
    reading = KINDS[kind].read({**dict.fromkeys(_names(kind), ""), **entry})
    for column, sentence in reading.faults.items():
        raise WhatIfError(column, sentence)
    change, words = _READERS[kind](around, reading.values)
    return Understood(kind, reading.values, change, words)


def is_of_same(kind: str, entry: Mapping[str, str], other: Mapping[str, str]) -> bool:
    """Whether two changes of a kind are about the same, so that one hides the other.

    A blank pack is the only one that there is.
    """
    values, others = (
        KINDS[kind].read({**dict.fromkeys(_names(kind), ""), **each}).values
        for each in (entry, other)
    )
    for name in SUBJECTS[kind]:
        mine, its = (_folded(each.get(name)) for each in (values, others))
        if mine != its and not (name == "pack" and "" in (mine, its)):
            return False
    return True


def _folded(value: Any) -> str:
    return folded(str(value or ""))


def tried_against(understood: Understood, around: Around) -> dict[str, str]:
    """Return what a change starts from, to be kept with its entry while it waits."""
    if not isinstance(understood.change, changes.MoveCake):
        return {}
    was_on = _due_now(around.kitchen, understood.change.reference)
    return {WAS_DUE.name: was_on.isoformat()}


def real_plan(*, bakery: Bakery, as_of: datetime, due: Sequence[date]) -> Planned:
    """Return the plan as it is, ahead to the last of some days at least."""
    from_on = as_of.astimezone(bakery.zone).date()
    ahead = max(((day - from_on).days + 1 for day in due), default=0)
    days = min(max(ahead, usual_days(bakery, from_on)), LONGEST_PLAN_DAYS)
    return make_plan(bakery=bakery, as_of=as_of, days=days)


def compare(real: Planned, understood: Sequence[Understood]) -> Comparison:
    """Return the plan beside the one in which changes have been made."""
    kitchen = changes.as_if(real.kitchen, [each.change for each in understood])
    changed = plan_kitchen(real.bakery, kitchen, real.plan.window, real.words)
    return Comparison(real, changed)


def understand_all(
    entries: Iterable[tuple[str, Mapping[str, str]]], around: Around
) -> list[Understood | WhatIfError]:
    """Return changes read one after the other, or why one can be no more."""
    found: list[Understood | WhatIfError] = []
    for kind, entry in entries:
        try:
            understood = understand(kind, entry, around)
        except WhatIfError as error:
            found.append(error)
            continue
        found.append(understood)
        kitchen = understood.change.applied(around.kitchen)
        around = replace(around, kitchen=kitchen)
    return found


def _names(kind: str) -> list[str]:
    return [column.name for column in KINDS[kind].columns]


Read = tuple[changes.PlanChange, str]


def _add_cake(around: Around, values: Values) -> Read:
    kitchen = around.kitchen
    reference = values["reference"]
    if folded(reference) in map(folded, kitchen.cakes.references):
        raise WhatIfError(
            "reference",
            _("{reference} is on the plan already.").format(reference=reference),
        )
    try:
        cake = cake_node(kitchen, values["cake"])
    except PlanningError as error:
        raise WhatIfError("cake", str(error)) from error
    size, due_on = values["size"], _due_on(around, values)
    _check_size(kitchen, size)
    quantity = float(values["quantity"])
    name = kitchen.nodes.names[cake]
    sized = f", {size}" if size else ""
    words = _(
        "{reference} is added: {quantity:,.0f} \N{MULTIPLICATION SIGN} {name}{sized}, "
        "for {day}."
    ).format(
        reference=reference,
        quantity=quantity,
        name=name,
        sized=sized,
        day=around.tell.day(due_on),
    )
    return changes.AddCake(reference, cake, size, due_on, quantity), words


def _due_on(around: Around, values: Values) -> date:
    """Return the day a cake is to be due on: one that a plan can reach."""
    due_on: date = values["due"]
    last_on = last_day_ahead(around.today)
    if due_on < around.today:
        raise WhatIfError("due", str(DueInThePastError(due_on)))
    if due_on > last_on:
        raise WhatIfError("due", str(DueTooFarAheadError(due_on, last_on)))
    return due_on


def _from_today(around: Around, values: Values) -> date:
    on: date = values["day"]
    if on < around.today:
        raise WhatIfError(
            "day", _("{on} is over. Try a day from today on.").format(on=on.isoformat())
        )
    return on


def _check_size(kitchen: Kitchen, size: str) -> None:
    if not size:
        return
    try:
        geometry.size_sums(size, kitchen.bakery.layer_height_cm)
    except SizeError as error:
        raise WhatIfError("size", str(error)) from error


def _drop_cake(around: Around, values: Values) -> Read:
    reference = planned_reference(around.kitchen, values)
    return changes.DropCake(reference), _("{reference} is cancelled.").format(
        reference=reference
    )


def _move_cake(around: Around, values: Values) -> Read:
    reference = planned_reference(around.kitchen, values)
    due_on = _due_on(around, values)
    tell, now_on = around.tell, _due_now(around.kitchen, reference)
    was_on = values["was_due"] or now_on
    if was_on != now_on:
        raise WhatIfError(
            "reference",
            _(
                "{reference} was due {on_day} when this move was tried, and is due "
                "{on_day2} now. Move it again from there."
            ).format(
                reference=reference,
                on_day=tell.on_day(was_on),
                on_day2=tell.on_day(now_on),
            ),
        )
    words = _("{reference} is moved from {day} to {day2}.").format(
        reference=reference, day=tell.day(now_on), day2=tell.day(due_on)
    )
    return changes.MoveCake(reference, due_on), words


def _due_now(kitchen: Kitchen, reference: str) -> date:
    return kitchen.cakes.due_on[list(kitchen.cakes.references).index(reference)]


def _on_hand(around: Around, values: Values) -> Read:
    kitchen = around.kitchen
    node = item_node(kitchen, values["item"])
    typed = values["amount"].strip()
    amount_base = 0.0
    if typed.casefold() not in NOTHING:
        try:
            amount_base = around.words.read_base(node, typed)
        except MeasureError as error:
            raise WhatIfError("amount", str(error)) from error
    words = capitalized(
        _("{names}: {typed} on hand.").format(
            names=kitchen.nodes.names[node], typed=typed
        )
    )
    return changes.SetOnHand(node, amount_base), capitalized(words)


def _close_day(around: Around, values: Values) -> Read:
    on = _from_today(around, values)
    words = _("Closed: {what}.").format(what=around.tell.day(on))
    return changes.CloseDay(on), words + closed_words(sent_for(around.kitchen, on))


def _skip_delivery(around: Around, values: Values) -> Read:
    kitchen = around.kitchen
    supplier = supplier_place(kitchen, values)
    on = _from_today(around, values)
    sent = sent_for(kitchen, on, supplier)
    if not sent:
        _check_delivers(around, supplier, on)
    name = kitchen.suppliers[supplier].name
    words = _("No delivery of {name}: {day}.").format(
        name=name, day=around.tell.day(on)
    )
    return changes.SkipDelivery(supplier, on), words + skipped_words(sent)


def _check_delivers(around: Around, supplier: int, on: date) -> None:
    terms = around.kitchen.suppliers[supplier]
    if on.weekday() not in terms.delivery_weekdays:
        days = [FULL_NAMES[day].title() for day in sorted(terms.delivery_weekdays)]
        usual = (
            _("on {days} only").format(days=listed(days, len(days)))
            if days
            else _("on no day")
        )
        raise WhatIfError(
            "day",
            _("{on} is a {full_names}: {name} delivers {usual}.").format(
                on=on.isoformat(),
                full_names=FULL_NAMES[on.weekday()].title(),
                name=terms.name,
                usual=usual,
            ),
        )
    if on in terms.closed_on or around.kitchen.bakery.is_closed(on):
        who = terms.name if on in terms.closed_on else _("The bakery")
        raise WhatIfError(
            "day",
            _("{who} is closed {on_day}: no delivery comes then.").format(
                who=who, on_day=around.tell.on_day(on)
            ),
        )


def _price(around: Around, values: Values) -> Read:
    kitchen = around.kitchen
    supplier, node = supplier_place(kitchen, values), item_node(kitchen, values["item"])
    packs = [
        pack for pack in kitchen.packs if (pack.supplier, pack.node) == (supplier, node)
    ]
    pack = one_pack(packs, values["pack"] or "")
    price = price_words(values["price"], kitchen.bakery.currency)
    name = kitchen.nodes.names[node]
    words = _("{label} of {name} from {name2}: {price}.").format(
        label=pack.label, name=name, name2=kitchen.suppliers[supplier].name, price=price
    )
    return changes.NewPrice(pack.pack_id, values["price"]), words


_READERS: dict[str, Callable[[Around, Values], Read]] = {
    "add-cake": _add_cake,
    "drop-cake": _drop_cake,
    "move-cake": _move_cake,
    "on-hand": _on_hand,
    "close-day": _close_day,
    "skip-delivery": _skip_delivery,
    "price": _price,
}
