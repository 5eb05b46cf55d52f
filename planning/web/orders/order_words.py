"""What an order is up to, in sentences."""

from datetime import date, datetime

from planning.engine.kitchen import PackTerms
from planning.engine.ordering.instance.options import sellable
from planning.models import Order, OrderStep
from planning.orders.drafting import Drafted
from planning.orders.going_out import is_cut_off_over
from planning.orders.order_book import BookedOrder
from stock.templatetags.words import day_words, moment_words, money
from stock.wording.names import person_name

State = Order.State

FROM_EARLIER_PLAN = "From an earlier plan"

STEP_WORDS = {
    State.DRAFT: "Drafted",
    State.APPROVED: "Approved",
    State.SENT: "Sent",
    State.PART_RECEIVED: "Part received",
    State.RECEIVED: "Received",
    State.CLOSED: "Closed",
    State.CANCELLED: "Cancelled",
}


def order_by_words(order_by: datetime | None, *, now: datetime, today: date) -> str:
    """Return the last moment to order: Order by Tue 2:00 pm."""
    if order_by is None:
        return "No cut-off is known"
    if is_cut_off_over(order_by, at=now):
        return f"The cut-off was {moment_words(order_by, today)}"
    return f"Order by {moment_words(order_by, today)}"


def sold_words(pack: PackTerms, packs: int, name: str = "It") -> str:
    """Return why so many packs are not sold, and what is; blank if they are."""
    if not packs or sellable(pack, packs) == packs:
        return ""
    up = sellable(pack, packs)
    if packs < pack.minimum_packs:
        rule = f"{name} is sold from {pack.minimum_packs} packs on"
        return f"{rule}: write {up} or more, or 0 for none."
    down = packs - packs % pack.multiple
    below = f"{down} or " if down >= pack.minimum_packs else ""
    return f"{name} is sold {pack.multiple} at a time: write {below}{up}."


def deliver_words(deliver_on: date, today: date) -> str:
    """Return the day of delivery as it stands after a name: on Friday, tomorrow."""
    words = day_words(deliver_on, today)
    is_adverb = words in ("today", "tomorrow", "yesterday") or words.startswith("last ")
    return words if is_adverb else f"on {words}"


def step_words(booked: BookedOrder, today: date) -> str:
    """Return how an order came into its state: Sent today 2:04 pm by Rosa."""
    if booked.last_step is None:
        return "Imported from a workbook"
    return _step_words(booked.last_step, today)


def reasons_words(booked: BookedOrder, today: date) -> str:
    """Return as of when an order says why; "" where it says nothing of it.

    Its reasons speak of the plan of that moment: "runs out Tuesday" was its Tuesday.
    """
    if not any(line.because for line in booked.lines):
        return ""
    drafted = [step.at for step in booked.steps if step.state == State.DRAFT]
    at = booked.order.reasons_at or max(drafted, default=None)
    return f"Reasons are as of {moment_words(at, today)}." if at else ""


def history_words(booked: BookedOrder, today: date) -> list[str]:
    """Return what happened to an order, in its order."""
    moments = [(step.at, f"{_step_words(step, today)}.") for step in booked.steps]
    if booked.order.changed_at:
        changed = f"{change_words(booked, today)}."
        moments.append((booked.order.changed_at, changed))
    said = [words for _, words in sorted(moments)]
    return said or [f"{step_words(booked, today)}."]


def _step_words(step: OrderStep, today: date) -> str:
    by = f" by {person_name(step.by)}" if step.by else ""
    said = f"{STEP_WORDS[State(step.state)]} {moment_words(step.at, today)}{by}"
    return f"{said}, from a workbook" if step.imported else said


def change_words(booked: BookedOrder, today: date) -> str:
    """Return who changed a draft; nothing if it stands as the plan suggested it."""
    order = booked.order
    if not order.changed_at:
        return "Started by hand" if order.changed_by_hand else "As the plan suggested"
    by = f" by {person_name(order.changed_by)}" if order.changed_by else ""
    return f"Changed {moment_words(order.changed_at, today)}{by}"


def due_words(booked: BookedOrder, today: date) -> str:
    """Return when an open order comes, or how late it is."""
    if not booked.is_overdue(today):
        return f"Comes {deliver_words(booked.due_on, today)}."
    days = (today - booked.due_on).days
    late = f"{days} day{'' if days == 1 else 's'} late"
    return (
        f"Was due {deliver_words(booked.due_on, today)}, {late}: "
        "it isn't counted until it is received or gets a new day."
    )


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
            "Goods",
            money(sheet.goods_cost, currency),
            f"minimum order {money(minimum, currency)}" if minimum else "",
        ),
        (
            "Delivery",
            money(sheet.fee, currency),
            f"free from {money(free_from, currency)} on"
            if free_from is not None and supplier.delivery_fee
            else "",
        ),
        ("Total", money(sheet.total_cost, currency), ""),
    ]


def drafted_words(drafted: Drafted) -> str:
    """Return what drafting did, in a sentence each."""
    said = [
        (drafted.added, "Drafted: {}."),
        (drafted.changed, "Brought up to date: {}."),
        (drafted.unchanged, "As the plan suggests, with reasons as of now: {}."),
        (drafted.left, "Left as you made them: {}."),
        (drafted.dropped, "Discarded, as nothing asks for them now: {}."),
    ]
    sentences = [
        words.format(", ".join(references)) for references, words in said if references
    ]
    return " ".join(sentences) or "Nothing has to be ordered now."
