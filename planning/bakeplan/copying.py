"""Planning the same cakes again: one, or a whole event, weekend or week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction

from planning.bakeplan.planned_cakes import keep_planned_cakes, planned_cake_entries
from planning.models import PlannedCake
from planning.models.bakeplan import LONGEST_REFERENCE
from stock.entry.entries import folded
from stock.saving import upsert
from stock.saving.versions import update_versioned

LONGEST_ENDING = 8  # " (99999)"
AS_MADE = 1  # the version of a row that nobody has changed


@dataclass(frozen=True, slots=True)
class Undone:
    """What became of copies that were to be undone, by their references."""

    cancelled: tuple[str, ...]
    changed: tuple[str, ...]  # somebody changed them since: they stay


@transaction.atomic
def copy_planned_cake(
    planned_id: int, *, due_on: date, seen_id: int | None = None
) -> int:
    """Plan the same cake for another day; return the new line's id.

    It gets the old reference with the first number that is free. A copy is confirmed,
    or tentative if what it copies is. `seen_id` is the newest planned cake on the page
    that asks (`newest_planned_cake`): where the copy was made since, it is returned.
    """
    upsert.wait_for_turn()
    [entry] = planned_cake_entries([planned_id])
    [copied_id] = _keep_copies([entry | {"due": due_on}], seen_id)
    return copied_id


@transaction.atomic
def copy_planned_cakes(
    ids: Sequence[int], *, days_later: int, seen_id: int | None = None
) -> list[int]:
    """Plan some cakes again so many days later; return the ids of the new lines.

    All of them or none, in a fixed number of queries. See `copy_planned_cake` for
    references, statuses and `seen_id`.
    """
    upsert.wait_for_turn()
    later = timedelta(days=days_later)
    entries = planned_cake_entries(ids)
    copies = [entry | {"due": entry["due"] + later} for entry in entries]
    return _keep_copies(copies, seen_id)


def newest_planned_cake() -> int:
    """Return the id of the newest planned cake, 0 if there is none. One query."""
    newest = PlannedCake.objects.order_by("-pk").values_list("pk", flat=True).first()
    return newest or 0


@transaction.atomic
def undo_copies(ids: Sequence[int]) -> Undone:
    """Cancel copies that are as they were made; say which are not, and stay."""
    upsert.wait_for_turn()
    copies = PlannedCake.objects.select_for_update().filter(
        pk__in=ids, status__in=PlannedCake.LIVE_STATUSES
    )
    as_made = [copy for copy in copies if copy.version == AS_MADE]
    for copy in as_made:
        copy.status = PlannedCake.Status.CANCELLED
    update_versioned(PlannedCake, as_made, ["status"])
    return Undone(
        tuple(copy.reference for copy in as_made),
        tuple(copy.reference for copy in copies if copy not in as_made),
    )


def _keep_copies(entries: Sequence[dict[str, Any]], seen_id: int | None) -> list[int]:
    """Store entries as new lines, each by a reference of its own; return their ids."""
    if seen_id is not None and (made := _copies_since(entries, seen_id)):
        return made
    taken = {
        folded(each) for each in PlannedCake.objects.values_list("reference", flat=True)
    }
    for entry in entries:
        entry["reference"] = _free_reference(entry["reference"], taken)
        taken.add(folded(entry["reference"]))
        if entry["status"] not in PlannedCake.LIVE_STATUSES:
            entry["status"] = PlannedCake.Status.CONFIRMED
    keep_planned_cakes(entries, ids=[None] * len(entries))
    references = [entry["reference"] for entry in entries]
    stored = PlannedCake.objects.order_by().filter(reference__in=references)
    id_by_reference = dict(stored.values_list("reference", "pk"))
    return [id_by_reference[reference] for reference in references]


def _copies_since(entries: Sequence[dict[str, Any]], seen_id: int) -> list[int]:
    """Return the copies of all entries that were made after a page was shown, if any.

    A double tap, or the page posted again after going back, then plans nothing twice.
    """
    later = PlannedCake.objects.filter(
        pk__gt=seen_id, status__in=PlannedCake.LIVE_STATUSES
    )
    there = list(later.select_related("cake__item").order_by("pk"))
    made: list[int] = []
    for entry in entries:
        copy = next((each for each in there if _is_copy(each, entry)), None)
        if copy is None:
            return []
        there.remove(copy)
        made.append(copy.pk)
    return made


def _is_copy(planned: PlannedCake, entry: dict[str, Any]) -> bool:
    """Whether a line is as copying an entry makes it, and unchanged since."""
    stem = entry["reference"][: LONGEST_REFERENCE - LONGEST_ENDING]
    return (
        planned.version == AS_MADE
        and planned.reference.startswith(stem)
        and planned.reference.endswith(")")
        and (planned.cake.item.name, planned.due_on, planned.quantity, planned.size)
        == (entry["cake"], entry["due"], entry["quantity"], entry["size"])
    )


def _free_reference(reference: str, taken: set[str]) -> str:
    """Return a reference with the first number behind it that is not taken."""
    number = 2
    while True:
        ending = f" ({number})"
        candidate = reference[: LONGEST_REFERENCE - len(ending)] + ending
        if folded(candidate) not in taken:
            return candidate
        number += 1
