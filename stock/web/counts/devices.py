"""How phones stand in a count: the door through which they say it, and its words.

Signing out on a phone: the kitchen hears of it before the session ends.
"""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.counts.devices import DeviceReport, TypedIn, hear, leave, open_devices
from stock.counts.lines import LineKey, line_of
from stock.entry.entries import folded
from stock.measures.reading.quantity import LONGEST_TEXT
from stock.models import CountDevice, CountTyped
from stock.models.counts import LONGEST_LOT
from stock.templatetags.words import moment_words
from stock.web.counts.entries import day, text, whole
from stock.web.counts.lines import field_name, lot_words
from stock.wording.names import person_name

SILENT_AFTER = timedelta(minutes=3)  # with its sheet in sight it reports every minute
MOST_COUNTS, MOST_TYPED = 50, 500
LONGEST_DEVICE, MOST_WAITING = 40, 2**31 - 1
UNUSABLE = (ValueError, KeyError, TypeError, AttributeError)


@require_POST
def count_devices(request: HttpRequest) -> JsonResponse:
    """Take how the phone of whoever is signed in stands in its counts."""
    try:
        sent = json.loads(request.body)
        reports = reports_from_json(sent)
        by = whole(sent["by"])
    except (*UNUSABLE, RecursionError):
        return JsonResponse({"sentence": _("Send how the phone stands.")}, status=400)
    if by != request.user.pk:  # of whoever was signed in before
        return JsonResponse({"heard": 0})
    at = timezone.now()
    return JsonResponse({"heard": hear(reports, by_id=request.user.pk, at=at)})


def reports_from_json(sent: Mapping[str, Any]) -> list[DeviceReport]:
    """Return what a phone says of its counts; raises what is wrong with it."""
    counts = sent["counts"]
    if not isinstance(counts, list) or len(counts) > MOST_COUNTS:
        raise ValueError(counts)
    device = text(sent["device"])[:LONGEST_DEVICE]
    number = whole(sent["number"])
    return [
        DeviceReport(
            count_id=whole(each["count"]),
            device=device,
            number=number,
            is_open=each["is_open"] is True,
            waiting=min(whole(each["waiting"]), MOST_WAITING),
            typed=tuple(_typed(line) for line in list(each["typed"])[:MOST_TYPED]),
        )
        for each in counts
    ]


@dataclass(frozen=True, slots=True)
class OpenDevice:
    """A phone with something open, as the review names it."""

    device: CountDevice
    now: datetime
    name: str  # Phone of Ada Park; told apart from every other of the list

    @property
    def words(self) -> str:
        """What is open on whose phone, and when that was last heard."""
        device = self.device
        typed = device.typed.all()
        parts = [
            _("its sheet is open") if device.is_open else "",
            _counted(device.waiting, _("entry not sent"), _("entries not sent")),
            _counted(
                len(typed), _("line typed, not entered"), _("lines typed, not entered")
            ),
        ]
        stands = ", ".join(part for part in parts if part)
        today = timezone.localdate(self.now)
        said = (
            _("{name}: {stands}; not heard since {heard}. It may hold more: ask first.")
            if self.is_silent
            else _("{name}: {stands}; last heard {heard}.")
        )
        heard = moment_words(device.heard_at, today)
        return said.format(name=self.name, stands=stands, heard=heard)

    @property
    def is_silent(self) -> bool:
        """Whether its sheet is open, and it has missed its reports of each minute."""
        device = self.device
        return device.is_open and self.now - device.heard_at > SILENT_AFTER

    @property
    def typed(self) -> list[tuple[str, str]]:
        """What is typed on it and not entered, with the way to its sheet."""
        return [
            (_typed_words(line), self._url(line)) for line in self.device.typed.all()
        ]

    @property
    def typed_by_line(self) -> list[tuple[LineKey, str]]:
        """What is typed on it and not entered, for the line itself to say."""
        return [
            (
                line_of(line),
                _("{name}: “{text}” typed, not entered.").format(
                    name=self.name, text=line.text
                ),
            )
            for line in self.device.typed.all()
        ]

    def _url(self, line: CountTyped) -> str:
        args = [self.device.count_id, line.place_id]
        page = reverse("stock:count_sheet", args=args)
        return f"{page}#{field_name(line_of(line))}"


def devices_of(count_id: int) -> list[OpenDevice]:
    """Return the phones that have something of a count open. Three queries."""
    now, devices = timezone.now(), open_devices(count_id)
    names = _names(devices)
    return [OpenDevice(device, now, names[device.pk]) for device in devices]


def _names(devices: Sequence[CountDevice]) -> dict[int, str]:
    """Return what each phone is called, by id: two are never called the same.

    A person's phones are numbered, and people of one name say how they sign in too.
    """
    people = {device.by for device in devices}
    called = Counter(folded(person_name(person)) for person in people)
    names = {}
    for person in people:
        name = person_name(person)
        if called[folded(name)] > 1:
            name = f"{name} ({person.get_username()})"
        own = sorted(device.pk for device in devices if device.by == person)
        for number, pk in enumerate(own, start=1):
            which = (
                _("Phone {number}").format(number=number)
                if len(own) > 1
                else _("Phone")
            )
            names[pk] = _("{which} of {name}").format(which=which, name=name)
    return names


def _typed(sent: Mapping[str, Any]) -> TypedIn:
    return TypedIn(
        place_id=whole(sent["place"]),
        item_id=whole(sent["item"]),
        text=text(sent["text"]).strip()[:LONGEST_TEXT],
        use_by=day(sent.get("use_by")),
        lot_code=text(sent.get("lot_code") or "")[:LONGEST_LOT],
    )


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}" if number else ""


def _typed_words(line: CountTyped) -> str:
    dated = lot_words(line.use_by, line.lot_code)
    name = f"{line.item.name}, {dated}" if dated else line.item.name
    return _("{name} in {name2}: “{text}”").format(
        name=name, name2=line.place.name, text=line.text
    )


@require_POST
def sign_out(request: HttpRequest) -> HttpResponseBase:
    """End the session; the sheets on the phone that sends this are closed with it.

    The phone's own report that they are comes after the session, and is not heard.
    """
    device = request.POST.get("device", "")[:LONGEST_DEVICE]
    if request.user.pk is not None and device:
        leave(device, by_id=request.user.pk, at=timezone.now())
    return LogoutView.as_view()(request)
