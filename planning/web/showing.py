"""Shows a page of the plan, or the sentence that says why there is no plan."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from planning.errors import PlanningError
from stock.errors import StockError

Context = dict[str, Any]


def show(
    request: HttpRequest,
    template: str,
    build: Callable[[], Context],
    **always: Any,
) -> HttpResponse:
    """Render a page with what `build` returns; where it refuses, with its sentence.

    `build` must have worked everything out when it returns: a template that refuses
    half-way is caught by nobody.
    """
    try:
        context = build()
    except (PlanningError, StockError) as error:
        context = {"problem": str(error)}
    return render(request, template, {**always, **context})
