"""What lets the count pages open with no network: their worker, and their mark."""

from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

WORKER = "stock/count/worker.js"
View = Callable[..., HttpResponse]


def kept_offline(view: View) -> View:
    """Mark a page as one that the worker may keep, and show to its reader alone."""

    @wraps(view)
    def marked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        if request.method == "GET" and response.status_code == 200:
            response["X-Offline"] = str(request.user.pk)
        return response

    return marked


@login_not_required
def count_worker(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 (a view)
    """Serve the worker of the count pages, with the scope that it covers.

    It holds nothing of the kitchen, and must stay reachable to be replaced.
    """
    path = finders.find(WORKER)
    if path is None:
        raise Http404
    response = HttpResponse(Path(path).read_bytes(), content_type="text/javascript")
    response["Service-Worker-Allowed"] = reverse("stock:counts")
    response["Cache-Control"] = "no-cache"
    return response


@login_not_required
def count_locked(request: HttpRequest) -> HttpResponse:
    """Show what stands in place of a sheet on a phone that nobody is signed in on.

    Kept there as it is: without a day that would grow old, or a name.
    """
    return render(request, "stock/count_locked.html", {"now": None})
