"""Count: what is really there?

A field for a moment by the bakery's clock, which is changed twice a year.
"""

from dataclasses import dataclass
from datetime import date, datetime

import django_tables2 as tables
from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2 import A

from stock.counts.counting import open_count
from stock.counts.history import Accuracy, Late, accuracy_over_time, unseen_late
from stock.counts.sheets import CountSheet, sheets
from stock.errors import StockError
from stock.models import Count, CountPlace, Place
from stock.templatetags.words import moment_words, money
from stock.web.counts.offline import kept_offline
from stock.web.counts.sheet import lines_url
from stock.web.counts.unfinished import open_words
from stock.web.forms.entry_forms import posted
from stock.web.request.bakery_time import current_bakery
from stock.wording.names import person_name

CLOCK_CHANGED = gettext_lazy(
    "The clock was changed then: this time was there twice, or not at all. Write one "
    "that is an hour earlier or later."
)


class MomentField(forms.DateTimeField):
    """A date and a time; says in plain words where the clock cannot tell which."""

    default_error_messages = {
        "invalid": gettext_lazy("Write a date and a time, or leave it blank.")
    }

    def to_python(self, value: str | datetime | date | None) -> datetime | None:
        """Return the moment that was written; None where it is blank."""
        try:
            return super().to_python(value)
        except ValidationError as error:
            if error.code == "ambiguous_timezone":
                raise ValidationError(CLOCK_CHANGED, error.code) from error
            raise


class StartForm(forms.Form):
    """Which places are walked, and as of when."""

    places = forms.MultipleChoiceField(
        label=gettext_lazy("Places to count"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": gettext_lazy("Choose at least one place to count.")
        },
    )
    counted_at = MomentField(
        label=gettext_lazy("As of"),
        required=False,
        widget=forms.DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        help_text=gettext_lazy(
            "Blank: now. Deliveries and bakes after this moment stay on top when "
            "the count is posted; what moved before it is in your figures."
        ),
    )

    use_required_attribute = False

    def __init__(self, *args: object, free: list[Place]) -> None:
        super().__init__(*args)  # type: ignore[arg-type]
        choices = [(str(place.pk), place.name) for place in free]
        self.fields["places"].choices = choices  # type: ignore[attr-defined]
        self.fields["places"].initial = [value for value, _ in choices]


class PastTable(tables.Table):
    """Posted counts and how near the record was."""

    caption = gettext_lazy(
        "Posted counts, the newest first. Right: at most 2 in 100 off the record."
    )
    counted = tables.Column(
        accessor="count__counted_at",
        verbose_name=gettext_lazy("As of"),
        linkify=("stock:count_review", [A("count__pk")]),
    )
    lines = tables.Column(
        gettext_lazy("Lines"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )
    right = tables.Column(
        gettext_lazy("Right"),
        empty_values=(),
        attrs={"td": {"class": "num"}, "th": {"class": "num"}},
    )
    net_cost = tables.Column(
        gettext_lazy("Variance"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )

    class Meta:
        orderable = False

    def __init__(self, rows: list[Accuracy], *, currency: str) -> None:
        super().__init__(rows)
        self.currency = currency

    def render_counted(self, value: datetime) -> str:
        """Return the moment of the count in words."""
        return moment_words(value, timezone.localdate())

    def render_right(self, record: Accuracy) -> str:
        """Return the lines on which the record was right, and their share."""
        return f"{record.accurate} ({record.accurate_fraction:.0%})"

    def render_net_cost(self, record: Accuracy) -> str:
        """Return what all variances come to."""
        return money(record.net_cost, self.currency)


@dataclass(frozen=True, slots=True)
class LiveCount:
    """A count that is going on, as the page tells of it."""

    count: Count
    sheets: list[CountSheet]

    @property
    def heading(self) -> str:
        """The places that it walks."""
        names = [sheet.place.name for sheet in self.sheets]
        last = " and ".join([", ".join(names[:-1]), names[-1]]) if names[1:] else ""
        return _("Counting {value}").format(value=last or "".join(names))

    @property
    def stands(self) -> str:
        """How far it is."""
        every = sum(len(sheet.lines) for sheet in self.sheets)
        counted = every - sum(sheet.left for sheet in self.sheets)
        as_of = moment_words(self.count.counted_at, timezone.localdate())
        state = _("in review") if self.count.state == Count.State.IN_REVIEW else "open"
        return _("As of {as_of}; {counted} of {every} lines counted; {state}.").format(
            as_of=as_of, counted=counted, every=every, state=state
        )

    @property
    def age(self) -> str:
        """For how long it is open, where that is too long."""
        return open_words(self.count, timezone.localdate())

    @property
    def go_on_url(self) -> str:
        """The first place with something left; blank once it is in review."""
        if self.count.state != Count.State.OPEN:
            return ""
        unfinished = [sheet for sheet in self.sheets if sheet.left] or self.sheets
        return lines_url(self.count, unfinished[0].place)

    @property
    def review_url(self) -> str:
        """The count's review."""
        return reverse("stock:count_review", args=[self.count.pk])


@dataclass(frozen=True, slots=True)
class LateNotice:
    """Entries that came after a count was posted, told to who posted it."""

    late: Late

    @property
    def sentence(self) -> str:
        """How many came, and who posted the count."""
        count, entries = self.late.count, self.late.entries
        came = ngettext("1 entry", "{entries} entries", entries).format(entries=entries)
        by = count.closed_by
        as_of = moment_words(count.counted_at, timezone.localdate())
        sentence = (
            _("{came} came after the count as of {as_of}, posted by {person}.")
            if by
            else _("{came} came after the count as of {as_of}.")
        )
        return sentence.format(came=came, as_of=as_of, person=person_name(by))

    @property
    def url(self) -> str:
        """Where they are shown."""
        return reverse("stock:count_review", args=[self.late.count.pk])


@kept_offline
def counts(request: HttpRequest) -> HttpResponse:
    """Show what is being counted, start another count, and look back."""
    form = StartForm(posted(request), free=_free_places())
    if form.is_bound and form.is_valid() and (count := _started(request, form)):
        return redirect("stock:count_sheet", count.pk, count.places.all()[0].pk)
    live = Count.objects.filter(state__in=Count.LIVE_STATES)
    past = accuracy_over_time()[::-1]
    context = {
        "live": [LiveCount(count, sheets(count.pk)) for count in live],
        "form": form,
        "start_kind": "quiet" if live else "main",
        "has_places": Place.objects.exists(),
        "late": [LateNotice(late) for late in unseen_late()],
        "past": past and PastTable(past, currency=current_bakery(request).currency),
    }
    return render(request, "stock/counts.html", context)


def _free_places() -> list[Place]:
    walked = CountPlace.objects.filter(is_live=True).values("place")
    return list(Place.objects.exclude(pk__in=walked))


def _started(request: HttpRequest, form: StartForm) -> Count | None:
    try:
        count = open_count(
            counted_at=form.cleaned_data["counted_at"],
            at=timezone.now(),
            place_ids=[int(place) for place in form.cleaned_data["places"]],
            by_id=request.user.pk,
        )
    except StockError as error:
        form.add_error(None, str(error))
        return None
    messages.success(request, _("The count is open. It is kept as you go."))
    return count
