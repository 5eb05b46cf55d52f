"""A count on paper: a sheet to print, and a page to type it in by its codes."""

from dataclasses import dataclass, replace
from uuid import UUID, uuid4, uuid5

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from stock.counting import EntryIn, sequence_at, take_entries
from stock.counts.answers import AnswerState
from stock.counts.codes import read_line_code
from stock.counts.lines import LineKey
from stock.counts.sheets import Sheet, SheetLine, sheets
from stock.errors import MeasureError
from stock.measures.spoken import read_spoken
from stock.models import Count
from stock.web.counts.lines import lot_words
from stock.web.entry_forms import posted

DEVICE = "paper"


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One line to write on."""

    name: str
    lot_words: str
    units: str
    code: str


class TypeInForm(forms.Form):
    """The lines of a paper sheet, as a second person reads them out."""

    use_required_attribute = False
    key = forms.UUIDField(widget=forms.HiddenInput)
    lines = forms.CharField(
        widget=forms.Textarea({"spellcheck": "false", "autocapitalize": "off"}),
        help_text="A code and an amount on each line: 3-41K 2 cases 6 lb.",
        error_messages={"required": "Type at least one line."},
    )


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
    )


def _kept(request: HttpRequest, form: TypeInForm, count: Count) -> bool:
    """Keep all lines and say so; False after saying which ones cannot be read."""
    at = timezone.now()
    reader = _Reader(count, sheets(count.pk), form.cleaned_data["key"])
    typed = form.cleaned_data["lines"].splitlines()
    entries = [
        replace(
            entry, by_id=request.user.pk, entered_at=at, sequence=sequence_at(at) + n
        )
        for n, text in enumerate(typed, start=1)
        if text.strip() and (entry := reader.entry(n, text))
    ]
    for problem in reader.problems:
        form.add_error("lines", problem)
    if reader.problems:
        return False
    answers = take_entries(entries, at=at, sent_by_id=request.user.pk)
    taken = sum(answer.state == AnswerState.TAKEN for answer in answers)
    lines = "1 line" if taken == 1 else f"{taken} lines"
    messages.success(request, f"{lines} kept.")
    for answer in answers:
        if answer.state in (AnswerState.KEPT, AnswerState.REFUSED):
            messages.warning(request, answer.sentence)
        elif answer.slip:
            messages.info(request, f"{answer.sentence} {answer.slip.sentence}")
    return True


class _Reader:
    """Reads typed lines against the sheets of the count."""

    def __init__(self, count: Count, every_sheet: list[Sheet], key: UUID) -> None:
        self.count = count
        self.key = key
        self.problems: list[str] = []
        self.line_by_key: dict[LineKey, SheetLine] = {
            line.line.key: line for sheet in every_sheet for line in sheet.lines
        }

    def entry(self, number: int, text: str) -> EntryIn | None:
        """Return the entry of one typed line; None after saying what is wrong."""
        code, _, amount = text.strip().partition(" ")
        near = timezone.localdate(self.count.counted_at)
        key = read_line_code(code, near=near)
        line = self.line_by_key.get(key) if key else None
        if line is None:
            self.problems.append(f"Line {number}: no line has the code {code}.")
            return None
        if problem := _problem(amount, line):
            self.problems.append(f"Line {number}, {line.line.item.name}: {problem}")
            return None
        return EntryIn(
            key=uuid5(self.key, f"{number} {text}"),
            count_id=self.count.pk,
            **line.line.key._asdict(),
            text=amount.strip(),
            entered_at=timezone.now(),
            device=DEVICE,
        )


def _problem(amount: str, line: SheetLine) -> str:
    if line.converter is None:
        return line.fault
    if not amount.strip():
        return "write what is there after the code, or leave the line out."
    try:
        read_spoken(amount, line.converter, line.tares)
    except MeasureError as error:
        return str(error)
    return ""
