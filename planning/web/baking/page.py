"""Making list: what do we make, and what is made?"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.baking.planned import newest_bake_id
from planning.baking.telling import made_sentences
from planning.baking.undoing import standing_in_the_way, undo_bake
from planning.errors import PlanningError
from planning.models import Bake
from planning.plan.horizon import usual_days
from planning.plan.outlook import last_day_ahead
from planning.plan.planner import make_plan
from planning.sentences.words import capitalized
from planning.web.baking.rows import making_list
from planning.web.label_links import labels_of
from planning.web.page_words import PageWords
from planning.web.showing import Context, show
from planning.web.today.makings import making_days
from planning.web.today.use_first_items import items_to_use_first
from planning.wording.bake_words import bake_words
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError
from stock.errors import StockError
from stock.models import Bakery
from stock.templatetags.words import moment_words
from stock.web.amounts import kept_together
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id
from stock.wording.names import person_name

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class BakeRow:
    """What was made on the day, in a sentence."""

    pk: int
    words: str
    when: str
    who: str


def making(request: HttpRequest) -> HttpResponse:
    """Show what is made on a day, in the order of making."""
    bakery, today = current_bakery(request), timezone.localdate()
    on = day_asked(request.GET.get("day"), today)
    return show(
        request,
        "planning/making.html",
        lambda: _listed(bakery, on),
        on=on,
        day_before=on - ONE_DAY if on > today else None,
        day_after=on + ONE_DAY,
        done=_done(sent_id(request.GET.get("done")), bakery),
        made=bake_rows(on, today),
        use_first=items_to_use_first(today),
        seen=newest_bake_id(),
    )


@require_POST
def undo(request: HttpRequest, bake_id: int) -> HttpResponse:
    """Put back what was made, and go back to the list of its day."""
    try:
        bake = undo_bake(bake_id, by_id=request.user.pk)
    except Bake.DoesNotExist:
        messages.error(request, _("This is not here any more. Look again."))
    except (PlanningError, StockError) as error:
        messages.error(request, str(error))
    else:
        messages.success(
            request, kept_together(_("Undone: {what}.").format(what=bake_words(bake)))
        )
        if bake.planned_cake_id is not None:
            return redirect("planning:planned_cake", bake.planned_cake_id)
    return redirect("planning:making")


def day_asked(text: str | None, today: date) -> date:
    """Return the day of an address; today where it names none that can be planned."""
    try:
        asked = Day().parse(text or "")
        return asked if today <= asked < last_day_ahead(today) else today
    except CellError:
        return today


def bake_rows(on: date, today: date) -> list[BakeRow]:
    """Return what was made on a day and stands, the latest first. One query."""
    rows = Bake.objects.filter(made_on=on, undone_at=None)
    return [
        BakeRow(
            pk=row.pk,
            words=kept_together(capitalized(bake_words(row))),
            when=moment_words(row.at, today),
            who=person_name(row.by),
        )
        for row in rows.select_related("recipe__item", "planned_cake", "by")
    ]


def _listed(bakery: Bakery, on: date) -> Context:
    """Return the list of a day, by the plan as it is now."""
    now = timezone.now()
    today = timezone.localdate(now)
    # As far as other pages look at least, so that what is short is the same figure.
    days = max(usual_days(bakery, today), (on - today).days + 2)
    planned = make_plan(bakery=bakery, as_of=now, days=days)
    words = PageWords(planned, today)
    (cakes,) = making_days(words, (on,))
    return {
        "list": making_list(words, on),
        "heading": words.day(on),
        "cakes": cakes.cakes,
        "is_closed": cakes.is_closed,
    }


def _done(bake_id: int | None, bakery: Bakery) -> dict[str, Any] | None:
    """Return what has just been made, or that it was undone since."""
    rows = Bake.objects.select_related("recipe__item", "planned_cake")
    bake = rows.filter(pk=bake_id).first() if bake_id else None
    if bake is None:
        return None
    first, *warnings = map(kept_together, made_sentences(bake, bakery))
    said = {"words": first, "warnings": warnings}
    if bake.undone_at is not None:
        return said
    url = reverse("planning:undo_bake", args=[bake.pk])
    made = bake.lines.filter(amount_base__gt=0)
    said["labels_url"] = labels_of(made)
    return said | {"url": url, "in_the_way": "; ".join(standing_in_the_way(bake))}
