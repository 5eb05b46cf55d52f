"""Asking for the bakery's time zone, on every page until somebody says it."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.bakery import keep_settings, setting_rows
from stock.calendar.time_zones import UTC
from stock.entry.entries import EntryFaultsError
from stock.models import Bakery
from stock.saving.versions import ChangedSinceError
from stock.web.request.bakery_time import current_bakery

# Offered beside the field where no script reads the browser's own.
OFFERED = (
    *("America/New_York", "America/Chicago", "America/Denver", "America/Phoenix"),
    *("America/Los_Angeles", "America/Anchorage", "Pacific/Honolulu"),
)


def asked_time_zone(request: HttpRequest) -> dict[str, Any]:
    """Return what a page needs to ask for the time zone; nothing once it is said."""
    bakery = current_bakery(request)
    if bakery.time_zone or not getattr(request.user, "is_authenticated", False):
        return {}
    machine = settings.MACHINE_TIME_ZONE
    return {
        "asked_zone": {
            "now": bakery.zone.key,
            "guess": "" if machine == UTC else machine,
            "offered": OFFERED,
        }
    }


@require_POST
def set_time_zone(request: HttpRequest) -> HttpResponse:
    """Keep the time zone, and go back to where it was asked."""
    _keep(request, request.POST.get("time_zone", "").strip())
    back = request.POST.get("back", "")
    is_ours = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return redirect(back if is_ours else "/")


def _keep(request: HttpRequest, named: str) -> None:
    """Keep the zone if nobody has said it yet; what is set is changed on Kitchen.

    The page that asks says no version: it is as of a kitchen without a zone.
    """
    bakery = Bakery.current()
    if bakery.time_zone and bakery.time_zone != named:
        messages.error(request, already_set(bakery.time_zone))
        return
    try:
        keep_settings(setting_rows({"time_zone": named}), seen=bakery.version)
    except EntryFaultsError as error:
        messages.error(request, error.faults[0].message)
    except ChangedSinceError as error:
        messages.error(request, already_set(error.theirs["time_zone"]))
    else:
        messages.success(
            request, _("Days are told on the clock of {named}.").format(named=named)
        )


def already_set(zone: str) -> str:
    """Return that a zone was set meanwhile, or other settings, and what to do."""
    if not zone:
        return _("The kitchen's settings changed meanwhile. Set the time zone again.")
    return _("The time zone is {zone} already. Change it on the page Kitchen.").format(
        zone=zone
    )
