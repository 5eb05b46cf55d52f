"""What people do on a phone with a count sheet, and what they see there."""

import re
from uuid import uuid4

from django.utils import timezone
from playwright.sync_api import expect

from stock.counts import counting
from stock.models import Item

PATIENCE_MS = 30_000  # a busy machine loads two dozen modules slowly

PHONE = {
    "viewport": {"width": 390, "height": 844},
    "is_mobile": True,
    "has_touch": True,
}


def open_sheet(tab, count, place):
    tab.goto(f"/count/{count.pk}/{place.pk}/", timeout=PATIENCE_MS)
    ready(tab)


def ready(tab):
    tab.wait_for_selector("[data-sheet][data-ready]", timeout=PATIENCE_MS)


def field(tab, name):
    return tab.get_by_label(re.compile(f"^{name}", re.IGNORECASE)).first


def enter(tab, name, text):
    field(tab, name).fill(text)
    field(tab, name).press("Enter")


def waiting(tab):
    return tab.locator("[data-waiting]")


def sent(tab):
    bar = tab.locator("[data-standing]")
    expect(bar).to_have_attribute("data-stand", "sent", timeout=PATIENCE_MS)
    expect(waiting(tab)).to_have_text("Everything is sent.")


def texts(count):
    """What each person's newest entry on each line says."""
    standings = counting.sheets(count.pk)
    return {
        line.line.item.name: [entry.text for entry in line.others]
        for sheet in standings
        for line in sheet.lines
        if line.others
    }


def an_entry(count, place, name, text):
    return counting.EntryIn(
        key=uuid4(),
        count_id=count.pk,
        place_id=place.pk,
        item_id=Item.objects.get(name=name).pk,
        text=text,
        entered_at=timezone.now(),
    )
