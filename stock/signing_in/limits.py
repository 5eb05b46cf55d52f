"""How often somebody may try a password, by name and by address.

A name may be tried wrongly so often from one address; an address some times as often,
whatever the names, so that a bakery behind one address is not shut out by one person's
slips. Whoever is over it is answered without working a password out, which costs time
on purpose. A name alone is never locked: anybody could shut its owner out.
"""

from datetime import timedelta
from ipaddress import ip_address
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

NAMES_AN_ADDRESS = 4  # an address may be wrong so many times as often as a name
# A try further in the future is from before the clock was set back: it would hold
# everybody up until then.
CLOCKS_DIFFER = timedelta(minutes=1)
PAUSE: timedelta = settings.AXES_COOLOFF_TIME
SENTENCE = (
    f"Too many wrong passwords. Try again in {PAUSE.seconds // 60} minutes, or ask "
    "whoever manages people for a new password."
)


class LimitHandler(AxesDatabaseHandler):
    """Counts the wrong tries of an address less strictly than those of a name."""

    def get_failures(
        self, request: HttpRequest, credentials: dict[str, Any] | None = None
    ) -> int:
        """Return the wrong tries that count against the limit."""
        until = timezone.now() + CLOCKS_DIFFER
        by_name, by_address = (
            attempts.filter(attempt_time__lte=until).aggregate(
                tries=Sum("failures_since_start")
            )["tries"]
            or 0
            for attempts in self.get_user_attempts(request, credentials)
        )
        return max(by_name, by_address // NAMES_AN_ADDRESS)

    def user_logged_in(
        self, sender: Any, request: HttpRequest, user: Any, **fields: Any
    ) -> None:
        """Forget the wrong tries of a name where it has signed in, and no others.

        Whoever has an account could else try a password of somebody else's again and
        again, signing in between.
        """
        super().user_logged_in(sender, request, user, **fields)
        AccessAttempt.objects.filter(
            username=user.get_username(), ip_address=client_address(request)
        ).delete()


def client_address(request: HttpRequest) -> str:
    """Return the address of a browser, past as many proxies as there are.

    Each proxy adds the address that it saw at the right end of X-Forwarded-For; what
    stands further left is the browser's own word, and not believed.
    """
    direct = str(request.META.get("REMOTE_ADDR", ""))
    behind = settings.PROXIES
    forwarded = request.headers.get("X-Forwarded-For", "").split(",")
    if not behind or len(forwarded) < behind:
        return direct
    said = forwarded[-behind].strip()
    try:
        return str(ip_address(said))
    except ValueError:
        return direct


def too_many_tries(
    request: HttpRequest,
    _original_response: HttpResponse | None = None,
    _credentials: dict[str, Any] | None = None,
) -> HttpResponse:
    """Say on the page for signing in how long the pause is."""
    form = AuthenticationForm(request, initial={"username": _typed_name(request)})
    context = {"form": form, "too_many": SENTENCE, "next": request.POST.get("next", "")}
    response = render(request, "registration/login.html", context, status=429)
    response["Retry-After"] = str(PAUSE.seconds)
    return response


def _typed_name(request: HttpRequest) -> str:
    return request.POST.get("username", "")[:150]
