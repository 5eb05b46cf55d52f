"""Kitchen: the bakery's settings, its people, and the way in and out for figures."""

from datetime import datetime

import django_tables2 as tables
from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, gettext_noop

import stock
from stock.bakery import keep_settings, setting_entries, setting_rows
from stock.entry.entries import EntryFaultsError, Fault, Sheet
from stock.saving.sheets import SETTING_COLUMNS, SETTINGS
from stock.saving.versions import ChangedSinceError
from stock.signing_in.people import manages_people
from stock.templatetags.words import moment_words
from stock.web.forms.entry_forms import EntryForm, posted
from stock.web.request.bakery_time import current_bakery
from stock.wording.names import person_name

# One setting is a row of its sheet, and a field of this page.
SETTINGS_FORM = Sheet(SETTINGS.name, SETTING_COLUMNS, noun="setting")
FOLDED_SETTINGS = {
    gettext_noop("Address and deliveries"): ("address", "phone", "delivery_note"),
    gettext_noop("Layers and leftovers"): ("layer_height", "leftover_worth"),
}
# What each setting does, where its column's own line does not say it.
HELP = {
    "bakery": gettext_lazy("The name on every page, spreadsheet and message."),
    "time_zone": gettext_lazy(
        "All days, cut-offs and moments are told on this clock. As the time "
        "zone database writes it, like America/Chicago."
    ),
    "currency": gettext_lazy(
        "What prices are in: three letters, like USD. Nothing is converted."
    ),
    "week_starts": gettext_lazy("The first day of a week on the bake plan."),
    "par_days": gettext_lazy(
        "Weekdays at whose close par stands. None: the last day of each week."
    ),
    "horizon_days": gettext_lazy("A plan looks this far, then on to the next par day."),
    "layer_height": gettext_lazy(
        "How high one baked layer stands, for cakes whose size names no "
        "height: 1.5 in or 4 cm."
    ),
    "leftover_worth": gettext_lazy(
        "From 0 to 1: the share of its price that what is left over "
        "keeps. Lower means smaller orders."
    ),
}


class PeopleTable(tables.Table):
    """Who may sign in."""

    name = tables.Column(gettext_lazy("Name"), empty_values=())
    username = tables.Column(gettext_lazy("Signs in as"))
    manages = tables.Column(gettext_lazy("Access"), empty_values=())
    last_login = tables.Column(gettext_lazy("Last sign-in"), empty_values=())

    class Meta:
        orderable = False

    def __init__(self, rows: list[User], *, now: datetime, can_change: bool) -> None:
        super().__init__(rows)
        self.caption = _("Who may sign in.")
        self.today = timezone.localdate(now)
        self.can_change = can_change

    def render_name(self, record: User) -> str:
        """Return what the pages call a person, with the way to change it."""
        name = person_name(record)
        if not self.can_change:
            return name
        url = reverse("planning:change_person", args=[record.pk])
        return format_html('<a href="{}">{}</a>', url, name)

    def render_manages(self, record: User) -> str:
        """Return what a person may do."""
        if not record.is_active:
            return _("no longer sign in")
        return (
            _("everything, people too") if manages_people(record) else _("everything")
        )

    def render_last_login(self, record: User) -> str:
        """Return when a person last signed in."""
        if record.last_login is None:
            return _("never yet")
        return moment_words(record.last_login, self.today)


def kitchen(request: HttpRequest) -> HttpResponse:
    """Show the settings and the people; keep the settings."""
    version = current_bakery(request).version
    values = {row["setting"]: row["value"] for row in setting_entries()}
    folded = {name for names in FOLDED_SETTINGS.values() for name in names}
    form = EntryForm(
        SETTINGS_FORM,
        posted(request),
        values=values,
        columns=[each.name for each in SETTING_COLUMNS if each.name not in folded],
        folded=FOLDED_SETTINGS,
        version=version,
    )
    for name, words in HELP.items():
        form.fields[name].help_text = words
    if form.is_bound and _save(form):
        messages.success(request, _("The settings are saved."))
        return redirect("planning:kitchen")
    can_manage = manages_people(request.user)
    people = PeopleTable(_people(), now=timezone.now(), can_change=can_manage)
    context = {
        "form": form,
        "people": people,
        "can_manage": can_manage,
        "version": stock.__version__,
    }
    return render(request, "planning/kitchen.html", context)


def _people() -> list[User]:
    return sorted(
        User.objects.all(),
        key=lambda person: (not person.is_active, person.get_username().casefold()),
    )


def _save(form: EntryForm) -> bool:
    """Hand the settings to their job; False if it refused one, beside its field."""
    rows = setting_rows(form.entry())
    try:
        keep_settings(rows, seen=form.seen(1).version)
    except ChangedSinceError as error:
        form.take_conflict(error)
        return False
    except EntryFaultsError as error:
        for fault in error.faults:
            name = rows[fault.row - 1]["setting"]
            form.take_fault(Fault(fault.row, name, fault.message, fault.sheet))
        return False
    return True
