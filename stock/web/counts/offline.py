"""What lets the count pages open with no network: their worker, and their mark."""

import json
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse

WORKER = "stock/count/worker.js"
LOADED = (".js", ".css", ".svg")
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


def file_version_served() -> str:
    """Return the version of the files that pages load, as their addresses have it."""
    return staticfiles_storage.url("").rstrip("/").rpartition("/")[2]


def files_served(worker: Path) -> list[str]:
    """Return the addresses of everything that the count pages may load."""
    folder = worker.parent.parent
    paths = sorted(path for path in folder.rglob("*") if path.suffix in LOADED)
    return [static(f"stock/{path.relative_to(folder).as_posix()}") for path in paths]


@login_not_required
def count_worker(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 (a view)
    """Serve the worker of the count pages, with the scope that it covers.

    It holds nothing of the kitchen, and must stay reachable to be replaced. In front of
    it stand the version of the files that pages load, with which it is another worker,
    and those files.
    """
    path = finders.find(WORKER)
    if path is None:
        raise Http404
    names = {"VERSION": file_version_served(), "MADE_OF": files_served(Path(path))}
    lines = [f"const {name} = {json.dumps(value)};" for name, value in names.items()]
    script = "\n".join([*lines, Path(path).read_text(encoding="utf-8")])
    response = HttpResponse(script, content_type="text/javascript")
    response["Service-Worker-Allowed"] = reverse("stock:counts")
    response["Cache-Control"] = "no-cache"
    return response


@login_not_required
def count_locked(request: HttpRequest) -> HttpResponse:
    """Show what stands in place of a sheet on a phone that nobody is signed in on.

    Kept there as it is: without a day that would grow old, or a name.
    """
    return render(request, "stock/count_locked.html", {"now": None})
