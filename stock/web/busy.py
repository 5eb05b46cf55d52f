"""What is answered when somebody else writes for long: soon, and so that phones know.

Nothing was stored, and the same thing sent again is as good as the first.
"""

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader

SENTENCE = (
    "Somebody else is saving a lot just now, so this was not saved yet. "
    "Try again in a moment."
)
RETRY_AFTER_SECONDS = 5
# As SQLite and PostgreSQL say that they waited for a lock in vain.
BUSY_WORDS = (
    *("database is locked", "database table is locked"),
    *("lock timeout", "deadlock detected"),
)


def is_busy(error: BaseException | None) -> bool:
    """Whether an error only says that somebody else writes."""
    return isinstance(error, OperationalError) and any(
        words in str(error) for words in BUSY_WORDS
    )


def busy_answer(request: HttpRequest) -> HttpResponse:
    """Say that it was not saved yet; a script is told in its own way."""
    if request.content_type == "application/json":
        answer: HttpResponse = JsonResponse({"sentence": SENTENCE}, status=503)
    else:
        page = loader.get_template("503.html").render({"sentence": SENTENCE})
        answer = HttpResponse(page, status=503)
    answer["Retry-After"] = str(RETRY_AFTER_SECONDS)
    return answer
