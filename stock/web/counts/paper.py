"""A count on paper: a sheet to print, and a page to type it in by its codes.

A paper sheet as it is typed in: read line by line, and asked about where it says two
things of one line of the count.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from uuid import UUID, uuid4, uuid5

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from stock.counts.answers import AnswerState
from stock.counts.codes import read_line_code
from stock.counts.counting import sequence_at, take_entries
from stock.counts.lines import EntryIn, LineKey
from stock.counts.sheets import CountSheet, SheetLine, sheets
from stock.errors import MeasureError
from stock.measures.reading.spoken import read_spoken
from stock.models import Count
from stock.web.counts.lines import field_name, lot_words
from stock.web.forms.entry_forms import posted

DEVICE = "paper"


@dataclass(frozen=True, slots=True)
class TypedFigure:
    """One figure that stands for a line: typed now, or entered before."""

    where: str  # line 3, entered before
    amount: str


@dataclass(frozen=True, slots=True)
class TypedTwice:
    """A line of the count with several figures, and what can be chosen."""

    line: SheetLine
    figures: tuple[TypedFigure, ...]

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"twice-{self.line.line.place.pk}-{field_name(self.line.line.key)}"

    @property
    def label(self) -> str:
        """Which line it is."""
        return f"{self.line.line.item.name}, {self.line.line.place.name}"

    @property
    def choices(self) -> list[tuple[str, str]]:
        """A value to send for each figure, and for all of them added up."""
        ones = [(each.amount, f"{each.amount} ({each.where})") for each in self.figures]
        added = " + ".join(each.amount for each in self.figures)
        one_by_amount = list(dict(ones).items())
        return [*one_by_amount, (added, _("All of it: {added}").format(added=added))]


class TypedSheet:
    """Reads typed lines against the sheets of a count."""

    def __init__(
        self,
        count: Count,
        every_sheet: list[CountSheet],
        key: UUID,
        chosen: Mapping[str, str],
    ) -> None:
        self.count = count
        self.key = key
        self.chosen = chosen
        self.problems: list[str] = []
        self.undecided: list[TypedTwice] = []
        self.units_given: list[str] = []  # Lemons 39 each
        self.typed_by_figure: dict[tuple[LineKey, str], str] = {}  # without its unit
        self.line_by_key: dict[LineKey, SheetLine] = {
            line.line.key: line for sheet in every_sheet for line in sheet.lines
        }

    def entries(self, text: str) -> list[EntryIn]:
        """Return an entry for each line that can be read and says one thing."""
        typed: dict[LineKey, list[TypedFigure]] = defaultdict(list)
        for number, each in enumerate(text.splitlines(), start=1):
            if each.strip() and (read := self._read(number, each)):
                key, amount = read
                typed[key].append(TypedFigure(f"line {number}", amount))
        entries = []
        for key, figures in typed.items():
            amount = self._one_of(self.line_by_key[key], figures)
            if amount:
                entries.append(self._entry(key, amount))
        return entries

    def _read(self, number: int, text: str) -> tuple[LineKey, str] | None:
        """Return what one typed line says; None after saying what is wrong."""
        code, _other, amount = text.strip().partition(" ")
        near = timezone.localdate(self.count.counted_at)
        key = read_line_code(code, near=near)
        line = self.line_by_key.get(key) if key else None
        if key is None or line is None:
            self.problems.append(
                _("Line {number}: no line has the code {code}.").format(
                    number=number, code=code
                )
            )
            return None
        whole = line.with_unit(amount.strip())
        if problem := _problem(whole, line):
            self.problems.append(
                _("Line {number}, {name}: {problem}").format(
                    number=number, name=line.line.item.name, problem=problem
                )
            )
            return None
        self.typed_by_figure.setdefault((key, whole), amount)
        if whole != amount.strip():
            self.units_given.append(f"{line.line.item.name} {whole}")
        return key, whole

    def _one_of(self, line: SheetLine, figures: list[TypedFigure]) -> str:
        """Return the figure that stands; blank after asking which one does.

        What this person entered of the line before is one of them: it is replaced
        only by who chooses so.
        """
        amounts = {each.amount for each in figures}
        own = line.own
        if own is not None and not self._is_repeat(own.key, line, amounts):
            if own.text == figures[0].amount and len(figures) == 1:
                return own.text
            figures = [*figures, TypedFigure(_("entered before"), own.text)]
        if len(figures) == 1:
            return figures[0].amount
        twice = TypedTwice(line, tuple(figures))
        chosen = self.chosen.get(twice.name, "")
        if chosen in dict(twice.choices):
            return chosen
        self.undecided.append(twice)
        return ""

    def _is_repeat(self, own_key: UUID, line: SheetLine, amounts: set[str]) -> bool:
        """Whether the entry before is what this very form sent: it came twice."""
        return any(
            own_key == self._entry(line.line.key, amount).key for amount in amounts
        )

    def _entry(self, key: LineKey, amount: str) -> EntryIn:
        own = self.line_by_key[key].own
        return EntryIn(
            key=uuid5(self.key, f"{field_name(key)} {key.place_id} {amount}"),
            count_id=self.count.pk,
            **key._asdict(),
            text=amount,
            entered_at=timezone.now(),
            device=DEVICE,
            sequence=own.sequence + 1 if own and own.device == DEVICE else 0,
            supersedes=own.key if own else None,
            typed=self.typed_by_figure.get((key, amount), ""),
        )


def _problem(amount: str, line: SheetLine) -> str:
    if line.converter is None:
        return line.fault
    if not amount.strip():
        return _("write what is there after the code, or leave the line out.")
    try:
        read_spoken(amount, line.converter, line.tares)
    except MeasureError as error:
        return str(error)
    return ""


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
