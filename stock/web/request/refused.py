"""Why a form that was sent was not taken: an old page, or an address not set up."""

from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# How Django's reasons begin where the address is at fault and not the page's age.
WRONG_ORIGIN = ("Origin checking failed", "Referer checking failed")


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say that nothing was saved, and what would help."""
    origin = request.headers.get("Origin", "")
    scheme, host = urlsplit(origin).scheme, request.get_host()
    context = {
        "is_wrong_origin": reason.startswith(WRONG_ORIGIN),
        "origin": origin if scheme in ("http", "https") else f"https://{host}",
    }
    return render(request, "403_csrf.html", context, status=403)
