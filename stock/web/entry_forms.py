"""Forms made of a sheet's columns: what is typed becomes an entry for a keep job.

    form = EntryForm(SUPPLIERS, posted(request), values=stored)
    if form.is_bound and keep_from_form(form, keep_suppliers, ids=[pk]):
        return redirect(...)

A form decides nothing. It hands on the typed text, and shows the job's sentences
beside the fields that they are about, with the entry as it was typed.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django import forms
from django.http import HttpRequest, QueryDict

from stock.entries import EntryFaultsError, Fault, Kept, Sheet
from stock.errors import StockError
from stock.web.entry_fields import CellField, NameList, field_for

__all__ = ["EntryForm", "NameList", "keep_from_form", "posted"]


class EntryForm(forms.Form):
    """One entry of a sheet as a form.

    `values` are what is stored, by column, as values or as text; without one a field
    starts with its column's default. `columns` are those to show, in that order.
    `fixed` are columns that the page decides: they are in the entry and not shown.
    `names` offers known names, by column. `prefix` tells apart many on one page.
    """

    use_required_attribute = False  # what is missing is said in our own words

    def __init__(
        self,
        sheet: Sheet,
        data: Mapping[str, Any] | None = None,
        *,
        values: Mapping[str, Any] | None = None,
        columns: Iterable[str] | None = None,
        fixed: Mapping[str, Any] | None = None,
        names: Mapping[str, NameList] | None = None,
        prefix: str | None = None,
    ) -> None:
        super().__init__(data, prefix=prefix)
        self.sheet = sheet
        self.fixed = dict(fixed or {})
        for name in columns or [column.name for column in sheet.columns]:
            if name in self.fixed:
                continue
            column = sheet.column(name)
            field = field_for(column, (names or {}).get(name))
            value = (values or {}).get(name, column.default)
            text = value if isinstance(value, str) else column.text(value)
            field.initial = field.shown(text)
            self.fields[name] = field

    def entry(self) -> dict[str, Any]:
        """Return what was typed, by column; what was not sent at all is absent."""
        typed = {
            name: field.clean(self[name].data)
            for name, field in self.fields.items()
            if isinstance(field, CellField) and self._was_sent(name)
        }
        return {**typed, **self.fixed}

    def _was_sent(self, name: str) -> bool:
        return not self.fields[name].widget.value_omitted_from_data(
            self.data, self.files, self.add_prefix(name)
        )

    def read(self) -> dict[str, Any] | None:
        """Return the values of the entry, for a job that takes values.

        None if some cannot be read; the sentences then stand beside their fields.
        What was not sent at all counts as blank.
        """
        reading = self.sheet.read({**dict.fromkeys(self.fields, ""), **self.entry()})
        for column, sentence in reading.faults.items():
            self.take_fault(Fault(1, column, sentence))
        return None if reading.faults else reading.values

    def take_faults(self, error: EntryFaultsError, *, row: int | None = None) -> None:
        """Show what a job refused; of many rows only what is about this one."""
        for fault in error.faults:
            is_ours = fault.sheet in ("", self.sheet.name)
            if row is None or (is_ours and fault.row == row):
                self.take_fault(fault)

    def take_fault(self, fault: Fault) -> None:
        """Show one fault beside its field; above the form if it is about none."""
        if fault.sheet in ("", self.sheet.name) and fault.column in self.fields:
            self.add_error(fault.column, fault.message)
        else:
            words = fault.column.replace("_", " ").capitalize()
            self.add_error(None, f"{words}: {fault.message}")


def posted(request: HttpRequest) -> QueryDict | None:
    """Return what a form sent; None where a page is only looked at."""
    return request.POST if request.method == "POST" else None


def keep_from_form(
    form: EntryForm, keep: Callable[..., Kept], **options: Any
) -> Kept | None:
    """Hand a form's entry to a keep job; return what became of it.

    None if the job refused it; the sentences then stand beside their fields.
    """
    try:
        return keep([form.entry()], **options)
    except EntryFaultsError as error:
        form.take_faults(error)
    except StockError as error:
        form.add_error(None, str(error))
    return None
