"""A count on paper: a sheet to print, and a page to type it in by its codes."""

from dataclasses import dataclass, replace
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from stock.counts.answers import AnswerState
from stock.counts.counting import sequence_at, take_entries
from stock.counts.sheets import SheetLine, sheets
from stock.models import Count
from stock.web.counts.lines import lot_words
from stock.web.counts.typed_sheet import TypedSheet, TypedTwice
from stock.web.forms.entry_forms import posted


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One line to write on."""

    name: str
    lot_words: str
    units: str
    code: str
    unit: str  # what a bare number means; blank: a unit must be written


class TypeInForm(forms.Form):
    """The lines of a paper sheet, as a second person reads them out.

    A line with two figures gets a field of its own, to choose one or both.
    """

    use_required_attribute = False
    key = forms.UUIDField(widget=forms.HiddenInput)
    lines = forms.CharField(
        widget=forms.Textarea({"spellcheck": "false", "autocapitalize": "off"}),
        label=gettext_lazy("Lines"),
        help_text=gettext_lazy(
            "A code and a quantity on each line: 3-41K 2 cases 6 lb."
        ),
        error_messages={"required": gettext_lazy("Type at least one line.")},
    )

    def ask_which(self, twice: TypedTwice) -> None:
        """Add the question which figure of a line stands."""
        self.fields[twice.name] = forms.ChoiceField(
            label=twice.label, choices=twice.choices, widget=forms.RadioSelect
        )
        self.add_error(twice.name, _("Choose the figure that stands on the shelf."))


def count_paper(request: HttpRequest, count_id: int) -> HttpResponse:
    """Show the sheets of a count for the printer."""
    count = get_object_or_404(Count, pk=count_id)
    places = [
        {"name": sheet.place.name, "lines": [_paper_line(line) for line in sheet.lines]}
        for sheet in sheets(count_id)
        if sheet.lines
    ]
    context = {"count": count, "places": places}
    return render(request, "stock/count_paper.html", context)


def count_type_in(request: HttpRequest, count_id: int) -> HttpResponse:
    """Take a paper sheet that somebody types in by its codes."""
    count = get_object_or_404(Count, pk=count_id)
    form = TypeInForm(posted(request), initial={"key": uuid4()})
    if form.is_bound and form.is_valid() and _kept(request, form, count):
        return redirect(request.path)
    context = {"count": count, "form": form}
    return render(request, "stock/count_type_in.html", context)


def _paper_line(line: SheetLine) -> PaperLine:
    key = line.line.key
    return PaperLine(
        name=line.line.item.name,
        lot_words=lot_words(key.use_by, key.lot_code),
        units=", ".join(line.unit_words),
        code=line.line.code,
        unit=line.counting_unit or "",
    )


def _kept(request: HttpRequest, form: TypeInForm, count: Count) -> bool:
    """Keep all lines and say so; False after saying which ones cannot be kept."""
    at = timezone.now()
    every_sheet = sheets(count.pk, by_id=request.user.pk)
    reader = TypedSheet(count, every_sheet, form.cleaned_data["key"], request.POST)
    entries = [
        replace(
            entry,
            by_id=request.user.pk,
            entered_at=at,
            sequence=max(sequence_at(at) + n, entry.sequence),
        )
        for n, entry in enumerate(reader.entries(form.cleaned_data["lines"]), start=1)
    ]
    for problem in reader.problems:
        form.add_error("lines", problem)
    for twice in reader.undecided:
        form.ask_which(twice)
    if reader.problems or reader.undecided:
        return False
    answers = take_entries(entries, at=at, sent_by_id=request.user.pk)
    taken = sum(answer.state == AnswerState.TAKEN for answer in answers)
    lines = ngettext("1 line", "{taken} lines", taken).format(taken=taken)
    messages.success(request, _("{lines} kept.").format(lines=lines))
    if reader.units_given:
        given = "; ".join(reader.units_given)
        messages.info(
            request,
            _("Numbers without a unit were read as: {given}.").format(given=given),
        )
    for answer in answers:
        if answer.state in (AnswerState.KEPT, AnswerState.REFUSED):
            messages.warning(request, answer.sentence)
        elif answer.slip:
            messages.info(request, f"{answer.sentence} {answer.slip.sentence}")
    return True
