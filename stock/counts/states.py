"""The state of a count: held while a job changes it, and refused where it cannot."""

from datetime import datetime

from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.counts.errors import (
    CountStateError,
    UndoneSinceError,
    UnknownCountError,
)
from stock.models import Count, CountEntry, CountTyped
from stock.wording.names import person_name

STATE_WORDS = {
    Count.State.OPEN: "open",
    Count.State.IN_REVIEW: gettext_lazy("in review"),
    Count.State.POSTED: "posted",
    Count.State.DISCARDED: "discarded",
}


def state_words(count: Count) -> str:
    """Return in which state a count is: in review, discarded."""
    return str(STATE_WORDS[Count.State(count.state)])


def undone_text(count: Count) -> str:
    """Return when a count was last undone, as a page sends it back; blank if never."""
    return count.undone_at.isoformat() if count.undone_at else ""


def newest_entry_id(count_id: int) -> int:
    """Return the newest entry that a count took or could not read; 0 without any."""
    kinds = (CountEntry.Kept.TAKEN, CountEntry.Kept.UNREADABLE)
    said = CountEntry.objects.filter(count_id=count_id, kept__in=kinds)
    return said.aggregate(newest=Max("pk"))["newest"] or 0


def newest_typed_id(count_id: int) -> int:
    """Return the newest of what is typed in a count, not entered; 0 without any."""
    typed = CountTyped.objects.filter(device__count_id=count_id).order_by()
    return typed.aggregate(newest=Max("pk"))["newest"] or 0


def refuse_undone(count: Count, seen_undone: str | None) -> None:
    """Refuse a step from a page that was opened before the count was undone."""
    if seen_undone is not None and seen_undone != undone_text(count):
        raise UndoneSinceError(person_name(count.undone_by))


def locked(count_id: int) -> Count:
    """Return a count, held until the transaction ends; entries hold it the same way."""
    count = Count.objects.select_for_update(no_key=True).filter(pk=count_id).first()
    if count is None:
        raise UnknownCountError(count_id)
    return count


def move(count_id: int, *, to: Count.State) -> Count:
    """Bring a live count into another live state; a repeat changes nothing."""
    count = locked(count_id)
    if count.state == to:
        return count
    refuse_closed(count)
    count.state = to
    count.save(update_fields=["state"])
    return count


def refuse_closed(count: Count) -> None:
    """Refuse a count that is posted or discarded."""
    if not count.is_live:
        raise state_error(count, _("Open a new count."))


def state_error(count: Count, way_out: str) -> CountStateError:
    """Return the error that says in which state a count is, and what to do."""
    return CountStateError(count.pk, state_words(count), way_out)


def close(count: Count, state: Count.State, *, at: datetime, by_id: int | None) -> None:
    """End a count: posted or discarded."""
    count.state, count.closed_at, count.closed_by_id = state, at, by_id
    count.save(update_fields=["state", "closed_at", "closed_by"])
    count.count_places.update(is_live=False)
