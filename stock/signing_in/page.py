"""The page for signing in."""

from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse

from stock.signing_in.limits import too_many_tries


class SignInView(LoginView):
    """Django's own, but for whoever has tried too often: that is answered at once."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign in, or say how long the pause is."""
        if not AxesProxyHandler.is_allowed(request):
            return too_many_tries(request)
        return super().post(request, *args, **kwargs)
