"""The steps of a count: end the walk, decide, note, post, go on, drop."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from stock import counting
from stock.counts.review import ReviewLine, review
from stock.errors import StockError
from stock.models import Count, CountDecision
from stock.web.counts.review import a_step
from stock.web.counts.review_rows import line_name
from stock.web.row_ids import sent_id


class LineGoneError(StockError):
    """A line that the review does not show any more."""

    def __init__(self) -> None:
        super().__init__("This line is not in the review any more. Look at it again.")


@a_step
def end_count(request: HttpRequest, count_id: int) -> str:  # noqa: ARG001 (a view)
    """End the walk; the count is in review."""
    counting.send_to_review(count_id)
    return "Counting is done. Look at what differs, then post the count."


@a_step
def reopen_count(request: HttpRequest, count_id: int) -> str:  # noqa: ARG001 (a view)
    """Go back to the walk."""
    counting.reopen(count_id)
    return "The count is open again; every entry is still there."


@a_step
def post_count(request: HttpRequest, count_id: int) -> str:
    """Correct the record to what was counted."""
    corrected = counting.post_count(
        count_id,
        at=timezone.now(),
        by_id=request.user.pk,
        seen_entry_id=sent_id(request.POST.get("seen")),
    )
    items = "1 item" if corrected == 1 else f"{corrected} items"
    return f"The count is posted. The record of {items} was corrected."


@a_step
def decide_count(request: HttpRequest, count_id: int) -> str:
    """Say which of several figures of one line stands."""
    choice = request.POST.get("choice", "")
    is_sum = choice == CountDecision.Choice.SUM
    line = _line(request, count_id)
    if not is_sum and sent_id(choice) not in [said.entry.pk for said in line.said]:
        raise LineGoneError
    counting.decide(
        count_id,
        line.line.key,
        CountDecision.Choice.SUM if is_sum else CountDecision.Choice.ONE,
        at=timezone.now(),
        entry_id=None if is_sum else sent_id(choice),
        seen_entry_id=sent_id(request.POST.get("seen")),
        by_id=request.user.pk,
    )
    return "Decided. The other figures are kept with the count."


@a_step
def note_count(request: HttpRequest, count_id: int) -> str:
    """Write a note beside a line."""
    text = request.POST.get("note", "")
    line = _line(request, count_id).line.key
    counting.note(count_id, line, text, at=timezone.now(), by_id=request.user.pk)
    return "The note is kept." if text.strip() else "The note is taken away."


def drop_count(request: HttpRequest, count_id: int) -> HttpResponse:
    """Ask, with the figures, before a count is dropped; then drop it."""
    count = get_object_or_404(Count, pk=count_id)
    if request.method == "POST":
        try:
            counting.drop(count_id, at=timezone.now(), by_id=request.user.pk)
        except StockError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, "The count is dropped. The record is as it was.")
        return redirect("stock:counts")
    seen = review(count_id)
    context = {
        "count": count,
        "item_count": len(seen.rows),
        "back": reverse("stock:count_review", args=[count_id]),
    }
    return render(request, "stock/count_drop.html", context)


def _line(request: HttpRequest, count_id: int) -> ReviewLine:
    named = request.POST.get("line", "")
    for row in review(count_id).rows:
        for line in row.lines:
            if line_name(line.line.key) == named:
                return line
    raise LineGoneError
