"""Every page runs on the bakery's own clock and names the bakery it belongs to."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from stock.database.unsaved import can_save
from stock.models import Bakery

# What needs no bakery, and must be answered when the database is not.
WITHOUT_A_CLOCK = ("/static/", "/health/")


def current_bakery(request: HttpRequest) -> Bakery:
    """Return the bakery's settings, read once a request."""
    if not hasattr(request, "_bakery"):
        request._bakery = Bakery.current()  # type: ignore[attr-defined]  # noqa: SLF001 (ours)
    return request._bakery  # type: ignore[attr-defined]  # noqa: SLF001 (ours)


class BakeryTimeMiddleware:
    """Set the time zone of a request to the bakery's."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request on the bakery's clock."""
        if request.path.startswith(WITHOUT_A_CLOCK):
            return self.get_response(request)
        with timezone.override(current_bakery(request).zone):
            return self.get_response(request)


def bakery_context(request: HttpRequest) -> dict[str, object]:
    """Return what every page may name: the bakery, now, today, whether it can save."""
    bakery = current_bakery(request)
    now = timezone.now()
    return {
        "bakery": bakery,
        "now": now,
        "today": now.astimezone(bakery.zone).date(),
        "can_save": can_save(),
    }
