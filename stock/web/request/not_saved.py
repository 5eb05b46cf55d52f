"""What is answered when the database cannot save: soon, and so that phones know."""

import logging

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader

from stock.database.unsaved import BUSY, Unsaved, why_unsaved

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
