"""Asking for the bakery's time zone, on every page until somebody says it."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from stock.bakery import keep_settings, setting_rows
from stock.entries import EntryFaultsError
from stock.time_zones import UTC
from stock.web.bakery_time import current_bakery

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
    named = request.POST.get("time_zone", "").strip()
    try:
        keep_settings(setting_rows({"time_zone": named}))
    except EntryFaultsError as error:
        messages.error(request, error.faults[0].message)
    else:
        messages.success(request, f"Days are told on the clock of {named}.")
    back = request.POST.get("back", "")
    is_ours = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return redirect(back if is_ours else "/")
