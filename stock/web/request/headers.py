"""What every answer says of itself besides Django's own headers."""

from collections.abc import Callable

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
