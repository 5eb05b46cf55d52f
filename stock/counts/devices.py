"""Devices in a count, as they last said: what is open on them, typed, or not sent yet.

A device may be out of reach, and then it holds more than it could say; so what stands
here is for people to look at. It stops one thing: posting somebody's older figure of a
line where they typed another and did not enter it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from stock.counts.lines import LineKey, line_of
from stock.models import Count, CountDevice, CountTyped, Item, Place


@dataclass(frozen=True, slots=True)
class TypedIn:
    """A line that is typed on a device and not entered."""

    place_id: int
    item_id: int
    text: str
    use_by: date | None = None
    lot_code: str = ""


@dataclass(frozen=True, slots=True)
class DeviceReport:
    """How a device stands in one count, by its own word."""

    count_id: int
    device: str
    number: int  # the device's own running number: an older report is late
    is_open: bool
    waiting: int  # entries on it that are not sent
    typed: tuple[TypedIn, ...] = ()


@transaction.atomic
def hear(reports: Sequence[DeviceReport], *, by_id: int, at: datetime) -> int:
    """Store how a person's device stands; return how many counts it is known in.

    A report that is older than the one before it, or of a count that is not there,
    changes nothing. Lines of items or places that are not there are left out.
    """
    known = set(
        Count.objects.filter(pk__in=[report.count_id for report in reports])
        .values_list("pk", flat=True)
        .order_by()
    )
    heard = [report for report in reports if report.count_id in known]
    for report in heard:
        _store(report, by_id=by_id, at=at)
    return len(heard)


def leave(device: str, *, by_id: int, at: datetime) -> int:
    """Note that a person has left a device; return how many of its sheets were open.

    What waits on it, or is typed there, stays known. Doing it again changes nothing.
    One query.
    """
    left = CountDevice.objects.filter(by_id=by_id, device=device, is_open=True)
    return left.update(is_open=False, heard_at=at)


def typed_of(count_id: int) -> list[CountTyped]:
    """Return what is typed in a count and not entered, with its person. One query."""
    rows = CountTyped.objects.filter(device__count_id=count_id)
    return list(rows.select_related("device__by"))


def open_devices(count_id: int) -> list[CountDevice]:
    """Return the devices with anything open or not sent, the last heard first.

    With their person, and what is typed on them. Three queries.
    """
    typed = CountTyped.objects.filter(device=OuterRef("pk"))
    devices = CountDevice.objects.filter(
        Q(is_open=True) | Q(waiting__gt=0) | Exists(typed), count_id=count_id
    )
    return list(
        devices.select_related("by").prefetch_related("typed__item", "typed__place")
    )


def _store(report: DeviceReport, *, by_id: int, at: datetime) -> None:
    named = {"count_id": report.count_id, "by_id": by_id, "device": report.device}
    stands = {
        "number": report.number,
        "heard_at": at,
        "is_open": report.is_open,
        "waiting": report.waiting,
    }
    CountDevice.objects.get_or_create(**named, defaults=stands | {"number": 0})
    device = CountDevice.objects.select_for_update(no_key=True).get(**named)
    if report.number < device.number:
        return
    for name, value in stands.items():
        setattr(device, name, value)
    device.save()
    # What is typed as before stays the same row: somebody may have decided on it.
    stored = {_typed_key(row): row for row in device.typed.all()}
    typed = {_typed_key(row): row for row in _typed(report, device, at)}
    device.typed.exclude(
        pk__in=[row.pk for key, row in stored.items() if key in typed]
    ).delete()
    CountTyped.objects.bulk_create(
        row for key, row in typed.items() if key not in stored
    )


def _typed_key(row: CountTyped) -> tuple[LineKey, str]:
    return line_of(row), row.text


def _typed(report: DeviceReport, device: CountDevice, at: datetime) -> list[CountTyped]:
    items = Item.objects.in_bulk({line.item_id for line in report.typed})
    places = Place.objects.in_bulk({line.place_id for line in report.typed})
    return [
        CountTyped(
            device=device,
            place=places[line.place_id],
            item=items[line.item_id],
            use_by=line.use_by,
            lot_code=line.lot_code,
            text=line.text,
            heard_at=at,
        )
        for line in report.typed
        if line.place_id in places and line.item_id in items
    ]
