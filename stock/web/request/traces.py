"""Every request has an id, and what fails or is slow is logged under it.

A page that failed shows the id; the log has the time, the person and the cause.

What is answered when the database cannot save: soon, and so that phones know.

How a failed or slow request stands in the log, and the mail that tells of it.

One line that says who asked for what and when, then the cause. What was typed is not
logged: it may be a password.
"""

import logging
import secrets
import sys
import time
from collections.abc import Callable
from datetime import datetime
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import mail_admins
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader
from django.utils import timezone

from stock.database.unsaved import BUSY, Unsaved, why_unsaved

SLOW = logging.getLogger("stock.slow")
MAIL = logging.getLogger("stock.mail")
SECONDS_BETWEEN_MAILS = 60.0


class TraceFormatter(logging.Formatter):
    """Writes a record's time, id, person, method and path before its words."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the record as it stands in the log."""
        at = datetime.fromtimestamp(record.created, timezone.get_default_timezone())
        head = f"{at.isoformat(timespec='seconds')} {record.levelname}"
        request = getattr(record, "request", None)
        if isinstance(request, HttpRequest):
            head += (
                f" id={getattr(request, 'trace_id', '-')} person={_person(request)} "
                f"{request.method} {request.get_full_path_info().partition('?')[0]}"
            )
        return f"{head} {super().format(record)}"


class OwnerMailHandler(logging.Handler):
    """Mails what failed to whoever looks after the site, at most once a minute."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self._last_s = -SECONDS_BETWEEN_MAILS

    def emit(self, record: logging.LogRecord) -> None:
        """Send the record; a mail that cannot be sent holds nobody up."""
        now_s = time.monotonic()
        if now_s - self._last_s < SECONDS_BETWEEN_MAILS:
            return
        self._last_s = now_s
        try:
            mail_admins("a page failed", self.format(record))
        except (OSError, SMTPException) as error:
            MAIL.warning("not mailed: %s", error)


def log_slow(request: HttpRequest, took_s: float) -> None:
    """Log a request that took long."""
    SLOW.warning("took %.1f s", took_s, extra={"request": request})


def _person(request: HttpRequest) -> str:
    """Return who asked, as far as that is known without asking the database."""
    person = getattr(request, "_cached_user", None)
    return person.get_username() if person and person.pk else "-"


LOG = logging.getLogger("stock.database.unsaved")


def not_saved_answer(
    request: HttpRequest, error: BaseException | None
) -> HttpResponse | None:
    """Say that it was not saved, and why; a script is told in its own way.

    None where the error is of another kind. What somebody has to mend is logged.
    """
    why = why_unsaved(error)
    if why is None:
        return None
    if why is not BUSY:
        LOG.error("%s: %s", why.title, error, extra={"request": request})
    answer = _answer(request, why)
    answer["Retry-After"] = str(why.retry_after_s)
    return answer


def _answer(request: HttpRequest, why: Unsaved) -> HttpResponse:
    if request.content_type == "application/json":
        return JsonResponse({"sentence": why.sentence}, status=503)
    # Without the request: what stands around a page is asked of the database.
    page = loader.get_template("503.html").render({"why": why})
    return HttpResponse(page, status=503)


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
