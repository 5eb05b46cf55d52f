"""What is wished on a page, as it was typed, by the names of its fields.

A line's field takes a number of packs, a delivery's says whether it is preferred or
left out. Blank is no wish.
"""

import re
from dataclasses import dataclass, field
from datetime import date

from django.http import QueryDict

from planning.engine.kitchen import SupplierDay
from planning.engine.ordering.instance.wishes import KeptWishes

PackDay = tuple[int, date]  # a pack's id, the day of the delivery

PREFER, FORBID = "prefer", "forbid"
LEFT_OUT, PREFERRED = "left_out", "preferred"
KEEP, TAKE_BACK, STEP = "keep", "take_back", "step"
MORE = ("more_pack", "more_on", "more_packs")  # a line that nothing suggests
NAME = re.compile(r"(line|truck)_([0-9]{1,18})_([0-9]{4}-[0-9]{2}-[0-9]{2})")


def line_name(pack_id: int, deliver_on: date) -> str:
    """Return the name of the field that fixes a line."""
    return f"line_{pack_id}_{deliver_on.isoformat()}"


def truck_name(supplier_id: int, deliver_on: date) -> str:
    """Return the name of the field that prefers or forbids a delivery."""
    return f"truck_{supplier_id}_{deliver_on.isoformat()}"


@dataclass(slots=True)
class WishEntries:
    """Wishes for single lines and deliveries, in the order that they were made."""

    lines: dict[PackDay, str] = field(default_factory=dict)  # packs, as typed
    trucks: dict[SupplierDay, str] = field(default_factory=dict)  # PREFER or FORBID

    @classmethod
    def of(cls, wishes: KeptWishes) -> "WishEntries":
        """Return wishes as they would be typed."""
        lines = {
            (line.pack_id, line.deliver_on): str(line.packs)
            for line in wishes.fixed_lines
        }
        forbidden = dict.fromkeys(wishes.forbidden_deliveries, FORBID)
        preferred = dict.fromkeys(wishes.preferred_deliveries, PREFER)
        return cls(lines, forbidden | preferred)


def settled(data: QueryDict) -> QueryDict:
    """Return a form's data as if every wish had been typed into a field of its own.

    A button that keeps a line as it is fills in the line's field, unless a number was
    typed there. One more line, once all of it is said, moves from its three fields to
    one. What was taken back is left out.
    """
    found = data.copy()
    _settle_more(found)
    for each in data.getlist(KEEP):
        name, _, text = each.partition("=")
        if not str(data.get(name, "")).strip():
            found[name] = text
    taken_back = data.getlist(TAKE_BACK)
    for name in taken_back:
        found.pop(name, None)
    for name in (LEFT_OUT, PREFERRED):
        kept = [key for key in data.getlist(name) if f"{name}_{key}" not in taken_back]
        found.setlist(name, kept)
    return found


def _settle_more(data: QueryDict) -> None:
    """Move one more line, once all of it is there, to a field of its own."""
    pack_id, on, packs = (str(data.get(name, "")).strip() for name in MORE)
    place = _place(f"line_{pack_id}_{on}")
    if place is not None and packs:
        data[line_name(*place[1:])] = packs
        for name in MORE:
            data.pop(name)


def read_entries(data: QueryDict) -> WishEntries:
    """Return what was typed and chosen, from settled data."""
    found = WishEntries()
    for name in data:
        place, text = _place(name), str(data[name])
        if place is None or not text.strip():
            continue
        if place[0] == "line":
            found.lines[place[1:]] = text
        elif text in (PREFER, FORBID):
            found.trucks[SupplierDay(*place[1:])] = text
    return found


def _place(name: str) -> tuple[str, int, date] | None:
    """Return what the name of a field says; None if it is another field's."""
    match = NAME.fullmatch(name)
    if match is None:
        return None
    try:
        return match[1], int(match[2]), date.fromisoformat(match[3])
    except ValueError:
        return None
