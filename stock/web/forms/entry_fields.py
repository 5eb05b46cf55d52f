"""The field of a form for a column of a sheet: its widget, its text, its known names.

No field refuses anything: it hands on what was typed, and the job says what is wrong.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.html import escape, format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from stock.calendar.calendars import EARLIEST_DAY, LATEST_DAY, WEEKDAYS
from stock.entry.calendar_cells import Clock, Day, Weekdays
from stock.entry.cells import BarCode, Choice, Email, Number, Text, WholeNumber, YesNo
from stock.entry.entries import Column
from stock.web.forms.entry_conflicts import FieldConflict

LONG_TEXT_LETTERS = 300  # from here on a field has several lines
# The keyboard that a phone shows.
INPUT_MODES = {
    WholeNumber: "numeric",
    Number: "decimal",
    BarCode: "numeric",
    Email: "email",
}
AS_TYPED = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


@dataclass(frozen=True, slots=True)
class NameList:
    """Known names that a field offers while one types; anything else may be typed.

    Where many forms stand on one page only the first carries the names; the others
    name its id alone.
    """

    id: str
    names: Sequence[str] = ()


class NumberInput(forms.TextInput):
    """A short field with a keyboard of digits, which keeps whatever was typed.

    A field of the browser's own kind for numbers drops what it cannot read.
    """


class DateInput(forms.DateInput):
    """The browser's own field for a date, of the years that a bakery may mean."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(
            {"min": EARLIEST_DAY.isoformat(), "max": LATEST_DAY.isoformat()}
        )


class TimeInput(forms.TimeInput):
    """The browser's own field for a time of day."""

    input_type = "time"


class NamesInput(forms.TextInput):
    """A field that offers known names."""

    def __init__(self, name_list: NameList) -> None:
        super().__init__({**AS_TYPED, "list": name_list.id})
        self.name_list = name_list

    def render(self, *args: Any, **kwargs: Any) -> SafeString:
        """Return the field and, where it carries them, the names."""
        field = super().render(*args, **kwargs)
        if not self.name_list.names:
            return field
        options = ((name,) for name in self.name_list.names)
        return field + format_html(
            '<datalist id="{}">{}</datalist>',
            self.name_list.id,
            format_html_join("", '<option value="{}">', options),
        )


class CellField(forms.CharField):
    """The text of a cell; `required` only says so on the page."""

    conflict: FieldConflict | None = None  # what somebody else saved meanwhile

    def clean(self, value: Any) -> str:
        """Return the typed text, with the line ends of every other text here."""
        return str(self.to_python(value)).replace("\r\n", "\n")

    def shown(self, text: str) -> Any:
        """Return what the widget takes to show a cell's text."""
        return text

    def put(self, data: QueryDict, name: str, text: str) -> None:
        """Put a cell's text among what was posted, as the widget would have sent it."""
        data[name] = text
        widget = self.widget
        if isinstance(widget, forms.Select):
            known = [choice for choice, _ in widget.choices]
            if text not in known:  # what is stored stays, be it one to choose or not
                widget.choices = [*widget.choices, (text, text)]


class YesNoField(CellField):
    """A box to tick: yes, or no."""

    widget = forms.CheckboxInput

    def clean(self, value: Any) -> str:
        """Return yes or no."""
        return "yes" if value else "no"

    def shown(self, text: str) -> bool:
        """Return whether the box is ticked."""
        return bool(text) and text != "no"

    def put(self, data: QueryDict, name: str, text: str) -> None:
        """A box without a tick is not sent."""
        data.pop(name, None)
        if self.shown(text):
            data[name] = "on"


class WeekdaysField(CellField):
    """Seven boxes to tick."""

    def clean(self, value: Any) -> str:
        """Return the ticked days, split by spaces."""
        return " ".join(value or ())

    def shown(self, text: str) -> list[str]:
        """Return the days to tick."""
        return text.split()

    def put(self, data: QueryDict, name: str, text: str) -> None:
        """Each day that is ticked is sent by itself."""
        data.setlist(name, self.shown(text))


def field_for(column: Column, name_list: NameList | None = None) -> CellField:
    """Return the field of a column, which offers the names of a list."""
    field_class = {YesNo: YesNoField, Weekdays: WeekdaysField}.get(
        type(column.kind), CellField
    )
    return field_class(
        label=column.heading,
        help_text=escape(column.help_words),
        required=not _may_stay_blank(column),
        widget=NamesInput(name_list) if name_list else _widget(column),
    )


def _may_stay_blank(column: Column) -> bool:
    if column.is_key:
        return column.key_may_be_blank
    has_no_blank = isinstance(column.kind, Choice | YesNo) and bool(column.default)
    return not column.required and not has_no_blank


def _widget(column: Column) -> forms.Widget:
    match column.kind:
        case Choice():
            return forms.Select(choices=_choices(column))
        case YesNo():
            return forms.CheckboxInput()
        case Weekdays():
            return forms.CheckboxSelectMultiple(
                choices=[(day, day) for day in WEEKDAYS]
            )
        case Day():
            return DateInput()
        case Clock():
            return TimeInput()
        case WholeNumber() | Number() | BarCode() | Email():
            mode = INPUT_MODES[type(column.kind)]
            short = isinstance(column.kind, WholeNumber | Number)
            attrs = {**AS_TYPED, "inputmode": mode}
            return NumberInput(attrs) if short else forms.TextInput(attrs)
        case Text(max_length=most) if most >= LONG_TEXT_LETTERS:
            return forms.Textarea({"rows": 3})
    return forms.TextInput(AS_TYPED)


def _choices(column: Column) -> list[tuple[str, str]]:
    """Return what may be chosen; nothing only where that means something."""
    kind = column.kind
    labels = (isinstance(kind, Choice) and kind.labels) or column.choices
    choices = [
        (choice, _(label)) for choice, label in zip(column.choices, labels, strict=True)
    ]
    if column.required:
        return [("", _("Choose one")), *choices]
    return choices if column.default else [("", _("none")), *choices]
