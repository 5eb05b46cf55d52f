"""The steps of a count: end the walk, decide, note, post, go on, discard."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from stock.counts import counting
from stock.counts.deciding import (
    ChosenReading,
    refuse_decided_since,
    refuse_entered_since,
)
from stock.counts.errors import LineGoneError
from stock.counts.history import see_late
from stock.counts.review import ReviewLine, review
from stock.counts.undoing import late_entries
from stock.errors import StockError
from stock.models import Count, CountDecision
from stock.web.counts.devices import devices_of
from stock.web.counts.review import a_step
from stock.web.counts.review_rows import line_name
from stock.web.request.row_ids import sent_id


@a_step
def end_count(request: HttpRequest, count_id: int) -> str:  # noqa: ARG001 (a view)
    """End the walk; the count is in review."""
    counting.send_to_review(count_id)
    return _("Counting is done. Look at what differs, then post the count.")


@a_step
def reopen_count(request: HttpRequest, count_id: int) -> str:  # noqa: ARG001 (a view)
    """Go back to the walk."""
    counting.reopen(count_id)
    return _("The count is open again; every entry is still there.")


@a_step
def post_count(request: HttpRequest, count_id: int) -> str:
    """Correct the record to what was counted."""
    corrected = counting.post_count(
        count_id,
        at=timezone.now(),
        by_id=request.user.pk,
        seen=request.POST.get("shown", ""),
    )
    items = ngettext("1 item", "{corrected} items", corrected).format(
        corrected=corrected
    )
    return _("The count is posted. The record of {items} was corrected.").format(
        items=items
    )


@a_step
def undo_count(request: HttpRequest, count_id: int) -> str:
    """Take back what the count wrote; it is in review again."""
    posted_at = _moment(request.POST.get("posted", ""))
    late = late_entries(count_id).count()
    shelves = counting.undo_post(
        count_id, at=timezone.now(), by_id=request.user.pk, posted_at=posted_at
    )
    lines = ngettext("1 line is", "{shelves} lines are", shelves).format(
        shelves=shelves
    )
    came = ngettext("1 entry", "{late} entries", late).format(late=late)
    sentence = (
        _(
            "Undone: {lines} as before. The count is in review again, with {came} "
            "that came late."
        )
        if late
        else _("Undone: {lines} as before. The count is in review again.")
    )
    return sentence.format(lines=lines, came=came)


@a_step
def late_seen(request: HttpRequest, count_id: int) -> str:
    """Note that the entries which came late were seen."""
    see_late(count_id, sent_id(request.POST.get("seen")) or 0)
    return _("Noted. They stay with the count.")


@a_step
def decide_count(request: HttpRequest, count_id: int) -> str:
    """Say which of several figures of one line stands."""
    line = _line(request, count_id)
    choice = request.POST.get("choice", "")
    seen_entry_id = sent_id(request.POST.get("seen"))
    refuse_entered_since(count_id, line.line.key, seen_entry_id)
    seen_version = sent_id(request.POST.get("version"))
    kind, entry_id, reading = _chosen(choice, line, seen_version)
    counting.decide(
        count_id,
        line.line.key,
        kind,
        at=timezone.now(),
        entry_id=entry_id,
        reading=reading,
        seen_entry_id=seen_entry_id,
        seen_typed_id=sent_id(request.POST.get("typed")),
        seen_version=seen_version,
        seen_undone=request.POST.get("undone"),
        by_id=request.user.pk,
    )
    if not choice:
        return _("The decision is undone. Decide again before you post.")
    return _("Decided. The other figures are kept with the count.")


@a_step
def note_count(request: HttpRequest, count_id: int) -> str:
    """Write a note beside a line."""
    text = request.POST.get("note", "")
    counting.note(
        count_id,
        _line(request, count_id).line.key,
        text,
        at=timezone.now(),
        seen_note=request.POST.get("was"),
        by_id=request.user.pk,
    )
    return _("The note is saved.") if text.strip() else _("The note is removed.")


def discard_count(request: HttpRequest, count_id: int) -> HttpResponse:
    """Ask, with the figures, before a count is discarded; then discard it.

    A page that is older than what came since is shown anew; a closed count's review.
    """
    count = get_object_or_404(Count, pk=count_id)
    if request.method == "POST":
        if _discarded(request, count_id):
            return redirect("stock:counts")
        return redirect("stock:discard_count", count_id)
    if not count.is_live:
        return redirect("stock:count_review", count_id)
    seen = review(count_id)
    context = {
        "count": count,
        "review": seen,
        "devices": devices_of(count_id),
        "back": reverse("stock:count_review", args=[count_id]),
    }
    return render(request, "stock/count_discard.html", context)


def _discarded(request: HttpRequest, count_id: int) -> bool:
    try:
        counting.discard(
            count_id,
            at=timezone.now(),
            by_id=request.user.pk,
            seen=request.POST.get("shown", ""),
        )
    except StockError as error:
        messages.error(request, str(error))
        return False
    messages.success(request, _("The count is discarded. The record stays."))
    return True


def _line(request: HttpRequest, count_id: int) -> ReviewLine:
    named = request.POST.get("line", "")
    for row in review(count_id).rows:
        for line in row.lines:
            if line_name(line.line.key) == named:
                return line
    raise LineGoneError


def _moment(text: str) -> datetime | None:
    """Return the moment that a form sends back; None where it is none."""
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _chosen(
    choice: str, line: ReviewLine, seen_version: int | None
) -> tuple[str, int | None, ChosenReading | None]:
    """Return the kind of a decision, whose entry it is of, and what it says.

    Another reading is taken only where the review still offers it, or where it is what
    stands decided: sent twice, it is decided once.
    """
    newest_id = line.said[-1].entry.pk
    if choice in ("", CountDecision.Choice.SUM):
        return choice, None, None
    offered = {
        read.value: ChosenReading(read.text, read.amount_base) for read in line.readings
    }
    if reading := offered.get(choice) or _decided_again(choice, line):
        return CountDecision.Choice.READ, newest_id, reading
    if sent_id(choice) not in [said.entry.pk for said in line.said]:
        refuse_decided_since(line.decision, seen_version)
        raise LineGoneError
    return CountDecision.Choice.ONE, sent_id(choice), None


def _decided_again(choice: str, line: ReviewLine) -> ChosenReading | None:
    """Return the reading that stands decided, where a form sends it once more."""
    decision, decided_base = line.decision, line.decided_base
    if decision is None or decided_base is None:
        return None
    is_reading = decision.choice == CountDecision.Choice.READ
    if not is_reading or choice != f"read {decision.text}":
        return None
    return ChosenReading(decision.text, decided_base)
