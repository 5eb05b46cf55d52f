"""Revising an order that was sent: opened, changed, approved, sent.

What was sent stays on order until the revision is sent; what was received stays
received. Each job names the version of the order that the person saw, as in `orders`:
a delivery that comes meanwhile is seen before a revision goes on.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import Max, Q
from django.utils.translation import gettext as _

from planning.errors import OrderPackError, RevisionError
from planning.models import (
    DeliveryLine,
    Order,
    OrderLine,
    OrderStep,
    Revision,
    RevisionLine,
)
from planning.orders.going_out import check_going_out
from planning.orders.in_force import put_in_force
from planning.orders.new_day import check_day
from planning.orders.orders import (
    Hand,
    check_pack,
    check_version,
    locked_order,
    record_step,
    step_error,
)
from planning.orders.proposed import (
    kept,
    open_revision_of,
    proposed_lines,
    proposed_order,
)
from planning.orders.shown_packs import refuse_changed_packs
from planning.plan.order_terms import order_by, terms_of_pack
from stock.models import Bakery, Pack

State = Revision.State


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a revision is to say: packs by the pack's id, its day, its note."""

    packs_by_pack: Mapping[int, int]
    deliver_on: date
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a page has asked and shown before a revision goes on."""

    answered: Collection[str] = ()
    shown: str | None = None


@transaction.atomic
def open_revision(hand: Hand, *, bakery: Bakery) -> Revision:
    """Start a revision of what was last sent, with nothing changed yet.

    Where one is open already, that one is returned: two people work on one.
    """
    order = locked_order(hand)
    if known := open_revision_of(order):
        return known
    check_version(order, hand)
    if order.state not in Order.OPEN_STATES:
        raise step_error(order, _("revised"))
    lines = [
        line for line in order.lines.all() if not (line.closed or line.stands_for_id)
    ]
    days = [line.due_on for line in lines if line.packs_to_come]
    day = min(days, default=order.deliver_on)
    highest = order.revisions.aggregate(highest=Max("number"))["highest"] or 0
    revision = Revision.objects.create(
        order=order,
        number=highest + 1,
        deliver_on=day,
        order_by=order_by(order.supplier, bakery, day),
        note=order.note,
        was_deliver_on=day,
        replaces=order.revision,
        opened_by_id=hand.by_id,
    )
    RevisionLine.objects.bulk_create(
        RevisionLine(
            revision=revision,
            pack_id=line.pack_id,
            packs=line.packs,
            was_packs=line.packs,
            price=line.price,
        )
        for line in lines
    )
    _record(order, revision, hand)
    return revision


@transaction.atomic
def set_revision(hand: Hand, wanted: Wanted, *, bakery: Bakery) -> Revision:
    """Set what an open revision asks for; saying the same again changes nothing.

    A line keeps the price it was sent at where neither its packs nor the day change.
    """
    order = locked_order(hand)
    revision = _open(order)
    is_same = not _is_new(revision, wanted)
    if is_same and _is_repeat(order, revision, hand, State.DRAFT):
        return revision
    check_version(order, hand)
    _check_draft(revision)
    if is_same:
        return revision
    check_day(wanted.deliver_on, hand.at, bakery)
    revision.deliver_on, revision.note = wanted.deliver_on, wanted.note
    revision.order_by = order_by(order.supplier, bakery, wanted.deliver_on)
    _set_lines(order, revision, wanted.packs_by_pack)
    revision.save()
    _record(order, revision, hand)
    return revision


def approve_revision(
    hand: Hand,
    answered: Collection[str] = (),
    shown: str | None = None,
    *,
    bakery: Bakery,
) -> Revision:
    """Say that a revision may go out; asked is what is asked of any order.

    Other packs than its page showed (`packs_shown`) are refused.
    """
    return _take_step(hand, State.APPROVED, _Seen(answered, shown), bakery=bakery)


def return_revision(hand: Hand, *, bakery: Bakery) -> Revision:
    """Take the approval of a revision back."""
    return _take_step(hand, State.DRAFT, bakery=bakery)


def send_revision(
    hand: Hand,
    answered: Collection[str] = (),
    shown: str | None = None,
    *,
    bakery: Bakery,
) -> Revision:
    """Note that an approved revision has gone out: its figures are on order now."""
    return _take_step(hand, State.SENT, _Seen(answered, shown), bakery=bakery)


def discard_revision(hand: Hand, *, bakery: Bakery) -> Revision:
    """Discard a revision that was not sent; its number stays given out."""
    return _take_step(hand, State.CANCELLED, bakery=bakery)


FROM = {
    State.APPROVED: (State.DRAFT,),
    State.DRAFT: (State.APPROVED,),
    State.SENT: (State.APPROVED,),
    State.CANCELLED: (State.DRAFT, State.APPROVED),
}


@transaction.atomic
def _take_step(
    hand: Hand, to: str, seen: _Seen | None = None, *, bakery: Bakery
) -> Revision:
    order = locked_order(hand)
    last = order.revisions.last()
    if last is not None and _is_repeat(order, last, hand, to):
        return last
    revision = _open(order)
    check_version(order, hand)
    if revision.state not in FROM[State(to)]:
        sentence = _("Revision {number} is not approved yet. Approve it first.")
        raise RevisionError(sentence.format(number=revision.number))
    revision.state = to
    if seen is not None:
        _check_going_out(order, revision, hand, seen, bakery)
    revision.save()
    is_settled = to == State.SENT and put_in_force(order, revision, bakery, hand.at)
    _record(order, revision, hand)
    if is_settled:  # nothing is to come any more: all that is left came already
        record_step(order, at=hand.at, by_id=hand.by_id)
    return revision


def _is_repeat(order: Order, last: Revision, hand: Hand, to: str) -> bool:
    """Whether this very step was taken already, by the same person."""
    step = order.steps.last()
    return bool(
        last.state == to
        and order.version == hand.version + 1
        and step
        and step.by_id == hand.by_id
    )


def _open(order: Order) -> Revision:
    revision = open_revision_of(order)
    if revision is None:
        sentence = _("No revision of {order} is open: it was sent or discarded.")
        raise RevisionError(sentence.format(order=order.reference))
    return revision


def _check_draft(revision: Revision) -> None:
    if revision.state != State.DRAFT:
        sentence = _("Revision {number} is approved. Make it a draft again first.")
        raise RevisionError(sentence.format(number=revision.number))


def _is_new(revision: Revision, wanted: Wanted) -> bool:
    stored = {line.pack_id: line.packs for line in revision.lines.all()}
    said = {pack: stored.get(pack, 0) for pack in wanted.packs_by_pack}
    return (revision.deliver_on, revision.note, said) != (
        wanted.deliver_on,
        wanted.note,
        dict(wanted.packs_by_pack),
    )


def _set_lines(
    order: Order, revision: Revision, packs_by_pack: Mapping[int, int]
) -> None:
    """Write the lines of a revision; one that was added and asks for none goes."""
    sent = {line.pack_id: line for line in order.lines.all()}
    lines = {line.pack_id: line for line in revision.lines.all()}
    wanted = {pack_id: line.packs for pack_id, line in lines.items()}
    wanted |= packs_by_pack
    packs = Pack.objects.select_related("item").in_bulk(wanted)
    for pack_id, count in wanted.items():
        if pack_id not in packs:
            raise OrderPackError(pack_id, _("This pack no longer exists."))
        pack, stands = packs[pack_id], sent.get(pack_id)
        check_pack(order, pack, count, is_new=stands is None)
        line = lines.get(pack_id)
        if line is None:
            if stands is not None:
                raise OrderPackError(
                    pack_id, _("It is closed, or a substitute, on this order.")
                )
            line = RevisionLine(revision=revision, pack=pack, was_packs=0)
        _check_received(order, line, stands, count)
        _set_line(revision, line, stands, count)


def _set_line(
    revision: Revision, line: RevisionLine, stands: OrderLine | None, count: int
) -> None:
    if not count and not line.was_packs:
        if line.pk is not None:
            line.delete()
        return
    is_moved = revision.deliver_on != revision.was_deliver_on
    line.packs = count
    if (
        stands is not None
        and count in (stands.packs, 0)
        and not (is_moved and stands.packs_to_come)
    ):
        line.price = stands.price
    else:
        terms = terms_of_pack(line.pack).on(revision.deliver_on)
        line.price = terms.price_at(count or line.was_packs)
    line.save()


def _check_received(
    order: Order, line: RevisionLine, stands: OrderLine | None, count: int
) -> None:
    """Refuse fewer packs than came, and removing what a delivery has named."""
    if stands is None or count == line.was_packs:
        return
    came = stands.received_packs
    if stands.closed:
        raise OrderPackError(line.pack_id, _("It was closed since. Leave it as sent."))
    if count < came:
        sentence = _("{came} came already. Enter {came} or more.")
        raise OrderPackError(line.pack_id, sentence.format(came=came))
    if count == 0 and _is_named(stands):
        sentence = _("A delivery of {order} names it: close it there instead.")
        raise OrderPackError(line.pack_id, sentence.format(order=order.reference))


def _is_named(line: OrderLine) -> bool:
    """Whether a delivery names a line, or what came in its place."""
    is_of_it = Q(line=line) | Q(line__stands_for=line)
    return DeliveryLine.objects.filter(is_of_it).exists()


def _check_going_out(
    order: Order,
    revision: Revision,
    hand: Hand,
    seen: _Seen,
    bakery: Bakery,
) -> None:
    if order.state not in Order.OPEN_STATES:
        raise step_error(order, _("revised"))
    sent = {line.pack_id: line for line in order.lines.select_related("pack__item")}
    changes = list(revision.lines.all())
    for line in changes:
        stands = sent.get(line.pack_id)
        if line.was_packs != (stands.packs if stands else 0):
            sentence = _("{order} was changed since. Discard the revision, and revise.")
            raise RevisionError(sentence.format(order=order.reference))
        _check_received(order, line, stands, line.packs)
    if not is_changing(order, revision):
        sentence = _("Revision {number} changes nothing yet. Change it, or discard it.")
        raise RevisionError(sentence.format(number=revision.number))
    lines = kept(proposed_lines(order, list(sent.values()), revision))
    if not any(line.packs for line in changes):
        sentence = _("Nothing is left on {order}. Cancel or close it instead.")
        raise RevisionError(sentence.format(order=order.reference))
    refuse_changed_packs(order, lines, seen.shown)
    check_going_out(
        revision.state,
        proposed_order(order, revision),
        lines,
        at=hand.at,
        answered=seen.answered,
        bakery=bakery,
    )


def is_changing(order: Order, revision: Revision) -> bool:
    """Whether a revision says anything else than what was sent. No query."""
    return (
        revision.deliver_on != revision.was_deliver_on
        or revision.note != order.note
        or any(line.packs != line.was_packs for line in revision.lines.all())
    )


def _record(order: Order, revision: Revision, hand: Hand) -> None:
    """Note who brought a revision into its state, or changed it, as a version."""
    order.version += 1
    order.save()
    OrderStep.objects.create(
        order=order,
        state=revision.state,
        revision=revision.number,
        at=hand.at,
        by_id=hand.by_id,
    )
