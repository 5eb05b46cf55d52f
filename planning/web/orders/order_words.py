"""What an order is up to, in sentences."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date, datetime
from itertools import zip_longest
from operator import itemgetter

from django.utils.timezone import localdate
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.engine.costing import sellable
from planning.engine.kitchen import PackTerms
from planning.models import Order, OrderStep
from planning.orders.drafting import Drafted
from planning.orders.going_out import is_cut_off_over
from planning.orders.order_book import BookedOrder
from planning.plan.telling import is_bare
from stock.templatetags.words import day_words, moment_words, money
from stock.wording.names import capitalized, person_name

State = Order.State

FROM_EARLIER_PLAN = gettext_lazy("From an earlier plan")

STEP_WORDS = {
    State.DRAFT: gettext_lazy("Drafted"),
    State.APPROVED: gettext_lazy("Approved"),
    State.SENT: gettext_lazy("Sent"),
    State.PART_RECEIVED: gettext_lazy("Part received"),
    State.RECEIVED: gettext_lazy("Received"),
    State.CLOSED: gettext_lazy("Closed"),
    State.CANCELLED: gettext_lazy("Cancelled"),
}

REVISION_STEP_WORDS = {
    State.DRAFT: gettext_lazy("Revision {number} drafted"),
    State.APPROVED: gettext_lazy("Revision {number} approved"),
    State.SENT: gettext_lazy("Revision {number} sent"),
    State.CANCELLED: gettext_lazy("Revision {number} discarded"),
}


def order_by_words(order_by: datetime | None, *, now: datetime, today: date) -> str:
    """Return the last moment to order: Order by Tue 2:00 pm."""
    if order_by is None:
        return _("No cut-off is known")
    if is_cut_off_over(order_by, at=now):
        return _("The cut-off was {moment}").format(
            moment=moment_words(order_by, today)
        )
    return _("Order by {moment}").format(moment=moment_words(order_by, today))


def sold_words(pack: PackTerms, packs: int, name: str = "") -> str:
    """Return why so many packs are not sold, and what is; blank if they are."""
    if not packs or sellable(pack, packs) == packs:
        return ""
    name = name or _("It")
    up = sellable(pack, packs)
    if packs < pack.minimum_packs:
        return capitalized(
            _(
                "{name} is sold from {minimum_packs} packs on: write {up} or more, or "
                "0 for none."
            ).format(name=name, minimum_packs=pack.minimum_packs, up=up)
        )
    down = packs - packs % pack.multiple
    sentence = (
        _("{name} is sold {multiple} at a time: write {down} or {up}.")
        if down >= pack.minimum_packs
        else _("{name} is sold {multiple} at a time: write {up}.")
    )
    return capitalized(
        sentence.format(name=name, multiple=pack.multiple, down=down, up=up)
    )


def deliver_words(deliver_on: date, today: date) -> str:
    """Return the day of delivery as it stands after a name: on Friday, tomorrow."""
    words = day_words(deliver_on, today)
    return words if is_bare(words) else _("on {words}").format(words=words)


def step_words(booked: BookedOrder, today: date) -> str:
    """Return how an order came into its state: Sent today 2:04 pm by Rosa."""
    if booked.last_step is None:
        return _("Imported from a workbook")
    return _step_words(booked.last_step, today)


def reasons_words(booked: BookedOrder, today: date) -> str:
    """Return as of when an order says why; "" where it says nothing of it.

    Its reasons speak of the plan of that moment: "runs out Tuesday" was its Tuesday.
    """
    if not any(line.because for line in booked.lines):
        return ""
    steps = [step for step in booked.steps if not step.revision]
    drafted = [step.at for step in steps if step.state == State.DRAFT]
    at = booked.order.reasons_at or max(drafted, default=None)
    return (
        _("Reasons are as of {moment}.").format(moment=moment_words(at, today))
        if at
        else ""
    )


def history_words(
    booked: BookedOrder,
    today: date,
    more: Iterable[tuple[datetime, str]] = (),
    told: Collection[datetime] = (),
) -> list[str]:
    """Return what happened to an order, in its order; `more` is told among it.

    A change of a moment that `more` tells, or `told` elsewhere, is not told again.
    """
    moments = [
        (step.at, f"{_step_words(step, today, is_change=is_change)}.")
        for step, is_change in _with_changes(_once_a_visit(booked.steps))
    ]
    more = list(more)
    moments += more
    changed_at = booked.order.changed_at
    if changed_at and changed_at not in {*told, *(at for at, _words in more)}:
        changed = f"{change_words(booked, today)}."
        moments.append((changed_at, changed))
    said = [words for _at, words in sorted(moments, key=itemgetter(0))]
    return said or [f"{step_words(booked, today)}."]


def _once_a_visit(steps: Sequence[OrderStep]) -> list[OrderStep]:
    """Return steps, of one person's parts received in a row on a day the last."""

    def part(step: OrderStep) -> tuple[int | None, date] | None:
        is_part = step.state == State.PART_RECEIVED and not step.imported
        return (step.by_id, localdate(step.at)) if is_part else None

    return [
        step
        for step, following in zip_longest(steps, steps[1:])
        if following is None or part(step) is None or part(step) != part(following)
    ]


def _with_changes(steps: Iterable[OrderStep]) -> Iterator[tuple[OrderStep, bool]]:
    """Yield each step, and whether it changed a revision that was a draft already."""
    drafted = 0
    for step in steps:
        is_draft = bool(step.revision) and step.state == State.DRAFT
        yield step, is_draft and step.revision == drafted
        if step.revision:
            drafted = step.revision if is_draft else 0


def _step_words(step: OrderStep, today: date, *, is_change: bool = False) -> str:
    did = str(STEP_WORDS[State(step.state)])
    if is_change:
        did = _("Revision {number} changed").format(number=step.revision)
    elif step.revision:
        did = REVISION_STEP_WORDS[State(step.state)].format(number=step.revision)
    whole = _("{did} {moment} by {person}") if step.by else _("{did} {moment}")
    said = whole.format(
        did=did, moment=moment_words(step.at, today), person=person_name(step.by)
    )
    said = _with_how(step).format(said=said, person=step.taken_by)
    return _("{said}, from a workbook").format(said=said) if step.imported else said


def _with_how(step: OrderStep) -> str:
    """Return the sentence of a step with how it went to the supplier."""
    if step.how == OrderStep.How.PHONE:
        return _("{said}, phoned in: {person} took it")
    if step.how == OrderStep.How.MAIL:
        return _("{said}, by e-mail")
    return _("{said}, as a message") if step.how else "{said}"


def change_words(booked: BookedOrder, today: date) -> str:
    """Return who changed a draft; nothing if it stands as the plan suggested it."""
    order = booked.order
    if not order.changed_at:
        return (
            _("Started by hand")
            if order.changed_by_hand
            else _("As the plan suggested")
        )
    by = order.changed_by
    whole = _("Changed {moment} by {person}") if by else _("Changed {moment}")
    return whole.format(
        moment=moment_words(order.changed_at, today), person=person_name(by)
    )


def due_words(booked: BookedOrder, today: date) -> str:
    """Return when an open order comes, or how late it is."""
    if not booked.is_overdue(today):
        return _("Comes {deliver}.").format(deliver=deliver_words(booked.due_on, today))
    days = (today - booked.due_on).days
    late = ngettext("{days} day late", "{days} days late", days).format(days=days)
    return _(
        "Was due {deliver}, {late}: it isn't counted until it is received "
        "or gets a new day."
    ).format(deliver=deliver_words(booked.due_on, today), late=late)


def total_words(booked: BookedOrder) -> str:
    """Return what an order comes to."""
    return money(booked.sheet.total_cost, booked.sheet.currency)


def packs_words(packs: int, label: str) -> str:
    """Return so many packs in the supplier's words."""
    return f"{packs:,} \N{MULTIPLICATION SIGN} {label}"


def sum_facts(booked: BookedOrder) -> list[tuple[str, str, str]]:
    """Return goods, delivery and total, with the supplier's terms beside them."""
    sheet, supplier = booked.sheet, booked.order.supplier
    currency, minimum = sheet.currency, supplier.minimum_order
    free_from = supplier.free_delivery_from
    return [
        (
            _("Goods"),
            money(sheet.goods_cost, currency),
            _("minimum order {money}").format(money=money(minimum, currency))
            if minimum
            else "",
        ),
        (
            _("Delivery"),
            money(sheet.fee, currency),
            _("free from {money} on").format(money=money(free_from, currency))
            if free_from is not None and supplier.delivery_fee
            else "",
        ),
        (_("Total"), money(sheet.total_cost, currency), ""),
    ]


def drafted_words(drafted: Drafted) -> str:
    """Return what drafting did, in a sentence each."""
    said = [
        (drafted.added, "Drafted: {}."),
        (drafted.changed, _("Brought up to date: {}.")),
        (drafted.unchanged, _("As the plan suggests, with reasons as of now: {}.")),
        (drafted.left, _("Left as you made them: {}.")),
        (drafted.dropped, _("Discarded, as nothing asks for them now: {}.")),
    ]
    sentences = [
        words.format(", ".join(references)) for references, words in said if references
    ]
    return " ".join(sentences) or _("Nothing has to be ordered now.")
