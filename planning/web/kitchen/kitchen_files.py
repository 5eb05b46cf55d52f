"""The kitchen as a file: take it away, or look at one and store what it holds."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from planning.errors import PlanningError
from planning.interchange.errors import KitchenFileError, KitchenMovedOnError
from planning.interchange.grids import kitchen_cells
from planning.interchange.kept_cells import dump_cells, load_cells
from planning.interchange.limits import ON_A_PAGE
from planning.interchange.loading import LoadReport, load_kitchen, preview_kitchen
from planning.interchange.report_words import baked_warning
from planning.interchange.taking_out import (
    NOT_HELD,
    kitchen_out,
    stock_told_apart,
)
from planning.interchange.workbook_reading import read_workbook
from planning.interchange.workbook_writing import kitchen_workbook
from planning.web.kitchen import waiting_files
from planning.web.kitchen.kitchen_tables import report_context
from stock.errors import StockError
from stock.web.request.bakery_time import current_bakery
from stock.wording.safe_text import file_stem

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
REFUSALS = (PlanningError, StockError)


class KitchenFileForm(forms.Form):
    """A workbook to look at; a file that is none is refused beside its field."""

    use_required_attribute = False
    file = forms.FileField(
        label=gettext_lazy("Kitchen workbook"),
        help_text=gettext_lazy(
            "An Excel workbook (.xlsx) with the kitchen's sheets and columns."
        ),
        widget=forms.FileInput(attrs={"accept": f".xlsx,{XLSX}"}),
        error_messages={
            "required": gettext_lazy("Choose the workbook first."),
            "empty": gettext_lazy("That file is empty. Choose the workbook again."),
        },
    )

    def clean_file(self) -> Any:
        """Return what the file is called and holds, if it is a workbook."""
        upload = self.cleaned_data["file"]
        try:
            cells = kitchen_cells(read_workbook(upload, upload.name, ON_A_PAGE))
        except KitchenFileError as error:
            raise forms.ValidationError(str(error)) from error
        return upload.name, dump_cells(cells)


def kitchen_files(request: HttpRequest) -> HttpResponse:
    """Offer the kitchen's workbook, and take one to look at."""
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = KitchenFileForm(*sent)
    if form.is_valid():
        name, content = form.cleaned_data["file"]
        try:
            token = waiting_files.put_aside(content, name, user_id=_user_id(request))
        except PlanningError as error:
            form.add_error("file", str(error))
        else:
            return redirect("planning:kitchen_preview", token)
    download = reverse("planning:kitchen_download")
    context = {
        "form": form,
        "files": [(_("The whole kitchen as a workbook"), download, "XLSX")],
        "left_out": stock_told_apart(),
        "not_held": NOT_HELD,
    }
    return render(request, "planning/kitchen_files.html", context)


def kitchen_preview(request: HttpRequest, token: str) -> HttpResponse:
    """Show what a file would add and change, and what is wrong with it."""
    try:
        waiting = waiting_files.find(token, user_id=_user_id(request))
        report = preview_kitchen(load_cells(waiting.content))
    except REFUSALS as error:
        messages.error(request, str(error))
        return redirect("planning:kitchen_files")
    context = {"name": waiting.name, "token": token, **report_context(report)}
    return render(request, "planning/kitchen_preview.html", context)


@require_POST
def kitchen_store(request: HttpRequest, token: str) -> HttpResponse:
    """Store what was looked at, if it still comes to the same."""
    waiting = None
    try:
        waiting = waiting_files.find(token, user_id=_user_id(request))
        report = _store(request, waiting)
    except waiting_files.StoredAlreadyError as error:
        messages.success(request, str(error))
        return redirect("planning:kitchen_files")
    except REFUSALS as error:
        messages.error(request, _first_line(error))
        if waiting is None:
            return redirect("planning:kitchen_files")
        return redirect("planning:kitchen_preview", token)
    waiting.forget()
    messages.success(request, _stored_words(waiting.name, report))
    if warning := baked_warning(report):
        messages.warning(request, warning)
    return redirect("planning:kitchen_files")


def kitchen_download(request: HttpRequest) -> HttpResponse:
    """Hand out everything that is stored as a workbook."""
    today = timezone.localdate().isoformat()
    stem = file_stem(current_bakery(request).name, today)
    return HttpResponse(
        kitchen_workbook(kitchen_out()),
        content_type=XLSX,
        headers={"Content-Disposition": f'attachment; filename="{stem}.xlsx"'},
    )


def _user_id(request: HttpRequest) -> int:
    return int(request.user.pk or 0)


def _store(request: HttpRequest, waiting: waiting_files.WaitingFile) -> LoadReport:
    """Store a file as it was looked at; raise where another tap has stored it."""
    cells = load_cells(waiting.content)
    try:
        return load_kitchen(
            cells,
            by=request.user,  # type: ignore[arg-type]  # login is required everywhere
            # Without a fingerprint nothing was looked at, and nothing is stored.
            as_previewed=request.POST.get("fingerprint") or "none",
        )
    except KitchenMovedOnError as error:
        now = preview_kitchen(cells)
        if now.changes_nothing and not now.faults:
            raise waiting_files.StoredAlreadyError(waiting.name) from error
        raise


def _first_line(error: Exception) -> str:
    return str(error).partition("\n")[0]


def _stored_words(name: str, report: LoadReport) -> str:
    return _(
        "{name} is stored: {added} added, {changed} changed, {unchanged} as they were."
    ).format(
        name=name,
        added=report.added,
        changed=report.changed,
        unchanged=report.unchanged,
    )
