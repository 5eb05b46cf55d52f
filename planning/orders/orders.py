"""Orders on their way out: changed, approved, sent, cancelled.

An order goes from draft to approved to sent; from then on it counts as on order and
is never changed. Each step names the version of the order that the person saw, so
that two people never both send it. A step that is repeated changes nothing.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.errors import (
    EmptyOrderError,
    NoSuchOrderError,
    OrderMovedOnError,
    OrderPackError,
    OrderStateError,
    TruckTakenError,
)
from planning.models import Order, OrderLine, OrderStep
from planning.orders.going_out import check_going_out
from planning.orders.numbers import next_number
from planning.orders.order_sheets import stored_sheet
from planning.orders.own_changes import is_own_change
from planning.orders.shown_packs import refuse_changed_packs
from planning.plan.order_terms import order_by, terms_of_pack
from stock.calendar.calendar_words import clock_words, date_words
from stock.models import Bakery, Pack, Supplier
from stock.saving.upsert import wait_for_turn
from stock.wording.names import capitalized, person_name

State = Order.State

MOST_PACKS = 100_000  # more of one pack on one truck is a slip of the finger
SOMEBODY = "Somebody"
# From which states each step may be taken.
STEPS = {
    State.DRAFT: (State.APPROVED, State.CANCELLED),
    State.APPROVED: (State.DRAFT,),
    State.SENT: (State.APPROVED,),
    State.CANCELLED: (
        State.DRAFT,
        State.APPROVED,
        State.SENT,
    ),
}
DONE_WORDS = {
    State.DRAFT: "drafted",
    State.APPROVED: "approved",
    State.SENT: "sent",
    State.PART_RECEIVED: gettext_lazy("received part of"),
    State.RECEIVED: "received",
    State.CLOSED: "closed",
    State.CANCELLED: "cancelled",
}


@dataclass(frozen=True, slots=True)
class Hand:
    """Whose hand is on which order, as of which version, and when."""

    order_id: int
    version: int
    at: datetime
    by_id: int | None = None


@transaction.atomic
def start_order(
    *,
    supplier: Supplier,
    deliver_on: date,
    bakery: Bakery,
    at: datetime,
    by_id: int | None = None,
) -> Order:
    """Start a draft by hand, with nothing on it yet; a plan leaves it alone."""
    wait_for_turn()
    order = Order(
        reference=next_number(at.astimezone(bakery.zone).year),
        supplier=supplier,
        deliver_on=deliver_on,
        order_by=order_by(supplier, bakery, deliver_on),
        changed_by_hand=True,
    )
    refuse_taken_truck(order)
    order.save()
    record_step(order, at=at, by_id=by_id)
    return order


@transaction.atomic
def set_packs(
    hand: Hand, packs_by_pack: Mapping[int, int], note: str | None = None
) -> Order:
    """Set how many of each pack a draft asks for, at today's price, and its note.

    By the pack's id; 0 takes it off, and a pack that is not named stays as it is. A
    pack that is not on the draft yet is added. Without a note the order's stays.
    """
    order = locked_order(hand)
    packs = Pack.objects.select_related("item").in_bulk(packs_by_pack)
    for pack_id in packs_by_pack:
        if pack_id not in packs:
            raise OrderPackError(pack_id, _("This pack no longer exists."))
    line_by_pack = {line.pack_id: line for line in order.lines.all()}
    changes = [
        (packs[pack_id], count)
        for pack_id, count in packs_by_pack.items()
        if _is_change(order, line_by_pack.get(pack_id), packs[pack_id], count)
    ]
    note = order.note if note is None else note
    is_same = not changes and note == order.note
    if is_same and is_own_change(order, hand.version, hand.by_id):
        return order
    check_version(order, hand)
    if order.state != State.DRAFT:
        raise step_error(order, "changed")
    if is_same:
        return order
    who = who_is(hand.by_id)
    for pack, count in changes:
        check_pack(order, pack, count, is_new=pack.pk not in line_by_pack)
        _set_line(order, line_by_pack.get(pack.pk), pack, count, who)
    order.version += 1
    order.note = note
    order.changed_by_hand = True
    order.changed_at, order.changed_by_id = hand.at, hand.by_id
    order.save()
    return order


def approve_order(
    hand: Hand, answered: Collection[str] = (), shown: str | None = None
) -> Order:
    """Say that a draft may go out; nothing is on order yet.

    Refused once its delivery day is over, and where its page showed other packs
    (`shown`, which is `packs_shown`); past its cut-off and under the minimum it is
    asked, by `OrderQuestionsError`, until `answered` names these questions.
    """
    return _take_step(hand, State.APPROVED, answered, shown)


def return_to_draft(hand: Hand) -> Order:
    """Take an approval back, or bring back an order that was dropped unsent."""
    return _take_step(hand, State.DRAFT)


def send_order(
    hand: Hand, answered: Collection[str] = (), shown: str | None = None
) -> Order:
    """Note that an approved order has gone out: from now on it is on order.

    It may have gone out in time and be noted late: past its cut-off or its day it is
    asked, and other packs than its page showed are refused, as in `approve_order`.
    """
    return _take_step(hand, State.SENT, answered, shown)


def cancel_order(hand: Hand) -> Order:
    """Drop an order that was not sent, or stop counting on one that was.

    Nobody tells the supplier: that remains to be done by hand.
    """
    return _take_step(hand, State.CANCELLED)


def record_step(order: Order, *, at: datetime, by_id: int | None) -> None:
    """Note who brought an order into the state that it is in."""
    OrderStep.objects.create(order=order, state=order.state, at=at, by_id=by_id)


def state_words(order: Order) -> str:
    """Return the state of an order as it stands after "is": sent, a draft."""
    return _("a draft") if order.state == State.DRAFT else order.state


def was_sent(steps: Iterable[OrderStep]) -> bool:
    """Whether an order ever left the house; one that came in as sent has no draft."""
    states = {step.state for step in steps if not step.revision}
    return State.SENT in states or State.DRAFT not in states


def locked_order(hand: Hand) -> Order:
    """Hold an order until the transaction ends; return it. Two queries."""
    wait_for_turn()
    rows = Order.objects.select_related("supplier").select_for_update(of=("self",))
    order = rows.filter(pk=hand.order_id).first()
    if order is None:
        raise NoSuchOrderError
    return order


@transaction.atomic
def _take_step(
    hand: Hand, to: str, answered: Collection[str] = (), shown: str | None = None
) -> Order:
    order = locked_order(hand)
    steps = list(order.steps.select_related("by"))
    if _is_repeat(order, steps, hand, to):
        return order
    check_version(order, hand)
    if order.state not in STEPS[State(to)]:
        raise step_error(order, str(DONE_WORDS[State(to)]))
    if to == State.DRAFT:
        _check_return(order, steps)
    if to in (State.APPROVED, State.SENT):
        _check_going_out(order, hand, to, answered, shown)
    order.state = to
    order.version += 1
    order.save()
    record_step(order, at=hand.at, by_id=hand.by_id)
    return order


def _is_repeat(order: Order, steps: list[OrderStep], hand: Hand, to: str) -> bool:
    """Whether this very step was taken already, by the same person."""
    return bool(
        order.state == to
        and order.version == hand.version + 1
        and steps
        and steps[-1].by_id == hand.by_id
    )


def check_version(order: Order, hand: Hand) -> None:
    """Refuse to act on an order that somebody else has moved on since."""
    if order.version == hand.version:
        return
    last = order.steps.select_related("by").last()
    if last is None or (order.changed_at and order.changed_at > last.at):
        did, at = _("changed"), order.changed_at or hand.at
        person = order.changed_by
    else:
        did, at, person = str(DONE_WORDS[State(last.state)]), last.at, last.by
        if last.revision:
            did = _("{done} revision {number} of").format(
                done=did, number=last.revision
            )
    raise OrderMovedOnError(
        order.reference, person_name(person, unknown=SOMEBODY), did, _when(at, hand.at)
    )


def _check_return(order: Order, steps: list[OrderStep]) -> None:
    if order.state == State.CANCELLED and was_sent(steps):
        raise step_error(order, _("a draft again"))
    refuse_taken_truck(order)


def _check_going_out(
    order: Order, hand: Hand, to: str, answered: Collection[str], shown: str | None
) -> None:
    lines, bakery = list(order.lines.select_related("pack__item")), Bakery.current()
    if not lines:
        raise EmptyOrderError(order.reference)
    refuse_changed_packs(order, lines, shown)
    check_going_out(to, order, lines, at=hand.at, answered=answered, bakery=bakery)
    if to == State.SENT:
        order.fee = stored_sheet(order, lines, bakery).fee


def refuse_taken_truck(order: Order) -> None:
    """Refuse a second order that waits for one delivery. One query."""
    others = Order.objects.exclude(pk=order.pk).filter(
        supplier=order.supplier,
        deliver_on=order.deliver_on,
        state__in=Order.UNSENT_STATES,
    )
    if other := others.first():
        raise TruckTakenError(order.supplier.name, other.reference)


def step_error(order: Order, done: str) -> OrderStateError:
    """Return why an order cannot take a step from its state, and what can be done."""
    ways_out = {
        State.DRAFT: _("Approve it first."),
        State.APPROVED: _("Make it a draft again first."),
        State.PART_RECEIVED: _("Close what is still to come instead."),
        State.SENT: _("Revise it, or cancel it and tell the supplier."),
    }
    way_out = ways_out.get(State(order.state), _("Draft the orders again instead."))
    return OrderStateError(order.reference, state_words(order), done, way_out)


def _is_change(order: Order, line: OrderLine | None, pack: Pack, count: int) -> bool:
    if line is None:
        return count != 0
    price = terms_of_pack(pack).on(order.deliver_on).price_at(count)
    return (line.packs, line.price) != (count, price)


def check_pack(order: Order, pack: Pack, count: int, *, is_new: bool) -> None:
    """Refuse packs that an order to its supplier cannot ask for."""
    name, supplier = (
        _("{label} of {name}").format(label=pack.label, name=pack.item.name),
        order.supplier,
    )
    if pack.supplier_id != supplier.pk:
        raise OrderPackError(
            pack.pk,
            capitalized(
                _("{name} does not sell {name2}.").format(
                    name=supplier.name, name2=name
                )
            ),
        )
    if not 0 <= count <= MOST_PACKS:
        sentence = _(
            "Of {name}, order from 1 to {most_packs:,} packs, or 0 for none."
        ).format(name=name, most_packs=MOST_PACKS)
        raise OrderPackError(pack.pk, sentence)
    if is_new and pack.retired:
        raise OrderPackError(
            pack.pk, capitalized(_("{name} is no longer sold.").format(name=name))
        )


def _set_line(
    order: Order, line: OrderLine | None, pack: Pack, count: int, who: str
) -> None:
    if line is not None and count == 0:
        line.delete()
        return
    price = terms_of_pack(pack).on(order.deliver_on).price_at(count)
    if line is None:
        line = OrderLine(
            order=order, pack=pack, because=[_("{who} added it.").format(who=who)]
        )
    elif line.packs != count:
        sentence = _("{who} made it {count} instead of {packs}.").format(
            who=who, count=count, packs=line.packs
        )
        line.because = [*line.because, sentence]
    line.packs, line.price, line.due_on = count, price, order.deliver_on
    line.save()


def who_is(user_id: int | None) -> str:
    """Return a person's name as a note on a line has it. One query."""
    if user_id is None:
        return SOMEBODY
    return person_name(User.objects.filter(pk=user_id).first(), unknown=SOMEBODY)


def _when(at: datetime, now: datetime) -> str:
    """Return a moment on the bakery's clock: at 2:04 pm, on Tue May 5 at 2:04 pm."""
    zone = Bakery.current().zone
    local, today = at.astimezone(zone), now.astimezone(zone).date()
    clock = _("at {clock}").format(clock=clock_words(local.time()))
    return (
        clock
        if local.date() == today
        else _("on {date} {clock}").format(date=date_words(local), clock=clock)
    )
