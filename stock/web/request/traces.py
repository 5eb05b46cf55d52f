"""Every request has an id, and what fails or is slow is logged under it.

A page that failed shows the id; the log has the time, the person and the cause.
"""

import secrets
import sys
import time
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template import loader

from stock.web.request.not_saved import not_saved_answer
from stock.web.request.trace_log import log_slow

# Without letters and digits that are mistaken for each other when read out.
SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
ID_SIGNS = 6


class TraceMiddleware:
    """Give each request its id, and log those that take long."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request, and look at the clock."""
        trace_id = "".join(secrets.choice(SIGNS) for _ in range(ID_SIGNS))
        request.trace_id = trace_id  # type: ignore[attr-defined]
        started_s = time.perf_counter()
        response = self.get_response(request)
        took_s = time.perf_counter() - started_s
        if took_s >= settings.SLOW_REQUEST_SECONDS:
            log_slow(request, took_s)
        return response

    def process_exception(
        self, request: HttpRequest, exception: Exception
    ) -> HttpResponse | None:
        """Answer at once what failed only because the database could not save."""
        return not_saved_answer(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """Say that something failed, and under which id the log has it.

    Nothing is asked of the database, which may be what failed.
    """
    # The database's error is met outside any view where a session is saved.
    if answer := not_saved_answer(request, sys.exc_info()[1]):
        return answer
    context = {"trace_id": getattr(request, "trace_id", "")}
    page = loader.get_template("500.html").render(context)
    return HttpResponse(page, status=500)
