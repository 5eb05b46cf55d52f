"""Signing out on a phone: the kitchen hears of it before the session ends."""

from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from stock.counts.devices import leave
from stock.web.counts.devices import LONGEST_DEVICE


@require_POST
def sign_out(request: HttpRequest) -> HttpResponseBase:
    """End the session; the sheets on the phone that sends this are closed with it.

    The phone's own report that they are comes after the session, and is not heard.
    """
    device = request.POST.get("device", "")[:LONGEST_DEVICE]
    if request.user.pk is not None and device:
        leave(device, by_id=request.user.pk, at=timezone.now())
    return LogoutView.as_view()(request)
