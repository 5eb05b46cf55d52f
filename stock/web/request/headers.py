"""What every answer says of itself besides Django's own headers.

A cookie that scripts may read: who was signed in when the kitchen last answered.

Pages may be older than a sign-out (another tab's, or the browser's back button), so a
script that opens a phone to somebody asks the cookie as well. It proves nothing to the
kitchen, which asks the session alone.
"""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.cache import add_never_cache_headers

# The count may use the camera one day; nothing else of a device is any page's business.
PERMISSIONS_POLICY = (
    "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), "
    "display-capture=(), browsing-topics=()"
)


class HeadersMiddleware:
    """Keep what is behind sign-in out of caches, and devices to themselves."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request with these headers."""
        response = self.get_response(request)
        response.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        # Static files are served above this, and have no user.
        if "Cache-Control" not in response and hasattr(request, "user"):
            add_never_cache_headers(response)
        return response


COOKIE = "person"


class PersonCookieMiddleware:
    """Keep the cookie at what the session says after each answer."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request; a page that is the same for everybody sets nothing."""
        response = self.get_response(request)
        if request.path.startswith("/static/"):
            return response
        person = str(request.user.pk) if request.user.is_authenticated else ""
        if request.COOKIES.get(COOKIE, "") != person:
            response.set_cookie(
                COOKIE,
                person,
                max_age=settings.SESSION_COOKIE_AGE if person else 0,
                secure=settings.SESSION_COOKIE_SECURE,
                samesite="Lax",
            )
        return response
