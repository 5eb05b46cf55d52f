"""Print labels: for which lots, how many, on which paper?"""

from dataclasses import dataclass, replace
from datetime import date

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.web.labels.rows import printed_labels
from stock.calendar.calendar_words import date_words
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, WholeNumber, is_blank
from stock.models import Lot
from stock.web.request.row_ids import sent_id

ON_A_SHEET = 24  # three by eight
MOST_COPIES, MOST_LOTS = 48, 60
PAPERS = {
    "letter": gettext_lazy("Letter, 24 labels"),
    "a4": gettext_lazy("A4, 24 labels"),
    "strip": gettext_lazy("Strip, 62 mm"),
}
DATE = Day()


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be printed, as the address of the page says."""

    copies: int = 1
    first: int = 1  # the first place on a sheet that was begun
    paper: str = "letter"
    opened_on: date | None = None
    use_by: date | None = None
    problems: tuple[str, ...] = ()


def print_labels(request: HttpRequest) -> HttpResponse:
    """Show the labels of lots as they will be printed. Nothing is stored."""
    ids = [sent_id(text) for text in request.GET.getlist("lot")][:MOST_LOTS]
    found = Lot.objects.select_related("item").in_bulk([pk for pk in ids if pk])
    lots = [found[pk] for pk in dict.fromkeys(ids) if pk in found]
    wish = _checked(_wish(request.GET), lots)
    labels = printed_labels(lots, opened_on=wish.opened_on, use_by=wish.use_by)
    skipped = wish.first - 1 if wish.paper != "strip" else 0
    places = [
        *[None] * skipped,
        *(one for one in labels for _copy in range(wish.copies)),
    ]
    context = {
        "lots": lots,
        "wish": wish,
        "sheets": [
            places[at : at + ON_A_SHEET] for at in range(0, len(places), ON_A_SHEET)
        ],
        "count": len(places) - skipped,
        "papers": PAPERS.items(),
        "most_copies": MOST_COPIES,
        "on_a_sheet": ON_A_SHEET,
        "today": timezone.localdate().isoformat(),
    }
    return render(request, "planning/print_labels.html", context)


def _wish(sent: QueryDict) -> Wish:
    """Return what an address asks for; what cannot be read is said and left out."""
    wish = Wish()
    copies = _number(sent.get("copies"), MOST_COPIES)
    first = _number(sent.get("first"), ON_A_SHEET)
    paper = sent.get("paper", wish.paper)
    wish = replace(
        wish,
        copies=copies or 1,
        first=first or 1,
        paper=paper if paper in PAPERS else wish.paper,
    )
    problems: list[str] = []
    if copies is None:
        problems.append(
            _("Copies: enter 1 to {most}. One is shown.").format(most=MOST_COPIES)
        )
    if sent.get("what") == "opened":
        wish = replace(
            wish,
            opened_on=_day(sent, "on", problems) or timezone.localdate(),
            use_by=_day(sent, "use_by", problems),
        )
    return replace(wish, problems=tuple(problems))


def _checked(wish: Wish, lots: list[Lot]) -> Wish:
    """Return a wish without what the lots forbid, said."""
    dates = [lot.use_by for lot in lots if lot.use_by]
    problems = list(wish.problems)
    opened_on = wish.opened_on
    use_by = wish.use_by if len(lots) == 1 else None
    if opened_on and opened_on > timezone.localdate():
        problems.append(_("Opened on: that day is still to come. Today is shown."))
        opened_on = timezone.localdate()
    if use_by and any(use_by > each for each in dates):
        problems.append(
            _("Use by: the maker's date, {day}, comes first.").format(
                day=date_words(min(dates))
            )
        )
        use_by = min(dates)
    elif use_by and opened_on and use_by < opened_on:
        problems.append(_("Use by: it is before the day it was opened."))
        use_by = None
    return replace(wish, opened_on=opened_on, use_by=use_by, problems=tuple(problems))


def _number(text: str | None, most: int) -> int | None:
    """Return a number from 1 to the most; 1 where nothing is said, None if none."""
    if is_blank(text):
        return 1
    try:
        number = WholeNumber(least=1, most=most).parse(text)
    except CellError:
        return None
    return int(number)


def _day(sent: QueryDict, name: str, problems: list[str]) -> date | None:
    """Return a day of an address; what is wrong with it is added to the problems."""
    text = sent.get(name)
    if is_blank(text):
        return None
    try:
        return DATE.parse(text)
    except CellError as error:
        problems.append(str(error))
        return None
