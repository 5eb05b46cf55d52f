"""A supplier's terms and its next truck, in sentences."""

from datetime import date, datetime

from django.utils.translation import gettext as _

from stock.calendar.calendars import parse_dates
from stock.calendar.cut_offs import read_cut_off
from stock.models import Bakery, Supplier
from stock.suppliers.delivery_days import next_truck
from stock.templatetags.words import day_words, moment_words, money


def next_truck_words(
    supplier: Supplier, bakery: Bakery, *, at: datetime, today: date
) -> tuple[str, str]:
    """Return when the next truck comes, and by when it must be ordered.

    Nothing comes from a shop.
    """
    if supplier.is_shop:
        return _("a shop"), ""
    truck = next_truck(supplier, bakery, at=at)
    if truck is None:
        return _("none within a year"), ""
    return day_words(truck.deliver_on, today), moment_words(truck.order_by, today)


def calendar_words(supplier: Supplier) -> str:
    """Return on which days it delivers and until when it must be ordered."""
    days = supplier.delivery_days.replace(" ", ", ")
    if supplier.is_shop:
        return _(
            "Open {days}. Somebody goes there; it takes no part in orders yet."
        ).format(days=days)
    until = read_cut_off(supplier.cutoff_days, supplier.cutoff_time).words
    usable = _("the next day") if supplier.usable_next_day else _("the same day")
    return _(
        "Delivers {days}, if ordered by {until}. What comes can be used {usable}."
    ).format(days=days, until=until, usable=usable)


def closed_words(supplier: Supplier, today: date) -> str:
    """Return on which days to come it brings nothing; blank if it always comes."""
    days = [day for day in parse_dates(supplier.closed_on) if day >= today]
    said = [day_words(day, today) for day in sorted(days)]
    return _("No delivery on {said}.").format(said=", ".join(said)) if said else ""


def contact_words(supplier: Supplier) -> str:
    """Return whom to ask for, the phone and the bakery's number there."""
    said = [supplier.contact, supplier.phone]
    if supplier.account:
        said.append(_("account {account}").format(account=supplier.account))
    return ", ".join(words for words in said if words)


def terms_words(supplier: Supplier, currency: str) -> str:
    """Return its minimum order and what a delivery costs."""
    if supplier.is_shop:
        trip = money(supplier.delivery_fee, currency)
        return (
            _("A trip costs {trip}.").format(trip=trip)
            if supplier.delivery_fee
            else _("A trip is free.")
        )
    minimum = supplier.minimum_order
    least = (
        _("Orders from {money} on").format(money=money(minimum, currency))
        if minimum
        else _("No minimum order")
    )
    if not supplier.delivery_fee:
        return _("{least}; delivery is free.").format(least=least)
    fee = _("a delivery costs {money}").format(
        money=money(supplier.delivery_fee, currency)
    )
    if supplier.free_delivery_from is None:
        return f"{least}; {fee}."
    free = _("free from {money} on").format(
        money=money(supplier.free_delivery_from, currency)
    )
    return f"{least}; {fee}, {free}."
