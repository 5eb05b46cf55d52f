"""How a failed or slow request stands in the log, and the mail that tells of it.

One line that says who asked for what and when, then the cause. What was typed is not
logged: it may be a password.
"""

import logging
import time
from datetime import datetime
from smtplib import SMTPException

from django.core.mail import mail_admins
from django.http import HttpRequest
from django.utils import timezone

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
