"""Forms made of a sheet's columns: what is typed becomes an entry for a keep job.

    form = EntryForm(SUPPLIERS, posted(request), values=stored, version=row.version)
    if form.is_bound and keep_from_form(form, keep_suppliers, ids=[form.seen(pk)]):
        return redirect(...)

A form decides nothing. It hands on the typed text, and shows the job's sentences
beside the fields that they are about, with the entry as it was typed. Given a version,
it never writes over what somebody else saved meanwhile: see `entry_conflicts`.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.http import HttpRequest, QueryDict
from django.utils.translation import gettext as _

from stock.entry.entries import Column, EntryFaultsError, Fault, Kept, Sheet
from stock.errors import StockError
from stock.saving.versions import ChangedSinceError, Seen
from stock.web.forms import entry_conflicts as conflicts
from stock.web.forms.entry_fields import CellField, NameList, field_for

__all__ = ["EntryForm", "NameList", "keep_from_form", "posted"]


@dataclass(frozen=True, slots=True)
class FoldedFields:
    """Optional fields that a page shows folded under a heading."""

    heading: str
    fields: Sequence[BoundField]
    entered: int  # how many hold something of their own

    @property
    def is_open(self) -> bool:
        """Whether something in it is wrong, or was changed meanwhile."""
        return any(
            field.errors or getattr(field.field, "conflict", None)
            for field in self.fields
        )


class EntryForm(forms.Form):
    """One entry of a sheet as a form.

    `values` are what is stored, by column, as values or as text; without one a field
    starts with its column's default. `columns` are those to show, in that order.
    `fixed` are columns that the page decides: they are in the entry and not shown.
    `names` offers known names, by column. `prefix` tells apart many on one page.
    `version` is that of the stored row; it must not be read after the values.
    `folded` has columns by the heading under which a page folds them; they come after
    the others.
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
        version: int | None = None,
        folded: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        super().__init__(data, prefix=prefix)
        self.sheet = sheet
        self.fixed = dict(fixed or {})
        self.folded = dict(folded or {})
        shown = columns or [column.name for column in sheet.columns]
        for name in [*shown, *chain.from_iterable(self.folded.values())]:
            if name in self.fixed:
                continue
            column = sheet.column(name)
            field = field_for(column, (names or {}).get(name))
            value = (values or {}).get(name, column.default)
            field.initial = field.shown(column_text(column, value))
            self.fields[name] = field
        if version is not None:
            self._add_opened(version, self._texts(values or {}))

    def _add_opened(self, version: int, stored: Mapping[str, str]) -> None:
        """Carry, hidden, the version and what was stored when the form was opened."""
        for name, text in self._opened(version, stored).items():
            self.fields[name] = forms.CharField(
                initial=text, required=False, widget=forms.HiddenInput
            )
        if to_keep := self._to_keep():
            data: QueryDict = self.data.copy()  # type: ignore[attr-defined]  # as posted
            for name, field in self.cells().items():
                if name in to_keep:
                    field.put(data, name, stored[name])
            self.data = data

    def _opened(self, version: int, stored: Mapping[str, str]) -> dict[str, str]:
        fixed = {
            name: column_text(self.sheet.column(name), value)
            for name, value in self.fixed.items()
        }
        return {
            conflicts.VERSION: str(version),
            conflicts.AS_OPENED: conflicts.opened_json({**stored, **fixed}),
        }

    def _texts(self, values: Mapping[str, Any]) -> dict[str, str]:
        """Return stored values as the texts of the form's fields."""
        columns = [self.sheet.column(name) for name in self.cells()]
        return {
            column.name: column_text(column, values.get(column.name, column.default))
            for column in columns
        }

    def cells(self) -> dict[str, CellField]:
        """Return the fields that are columns of the sheet, by column."""
        return {
            name: field
            for name, field in self.fields.items()
            if isinstance(field, CellField)
        }

    def first_fields(self) -> list[BoundField]:
        """Return the fields that are seen at once."""
        folded = {name for names in self.folded.values() for name in names}
        return [field for field in self.visible_fields() if field.name not in folded]

    def folded_fields(self) -> list[FoldedFields]:
        """Return the fields that are folded, group by group."""
        return [
            FoldedFields(
                _(heading), [self[name] for name in names], sum(map(self._says, names))
            )
            for heading, names in self.folded.items()
        ]

    def _says(self, name: str) -> bool:
        """Whether a field holds anything but blank and its column's default."""
        default = self.sheet.column(name).text(self.sheet.column(name).default)
        return self[name].value() not in (None, "", False, [], default)

    def entry(self) -> dict[str, Any]:
        """Return what was typed, by column.

        What was not sent at all is absent, and what is to stay as another saved it.
        """
        typed = {
            name: field.clean(self[name].data)
            for name, field in self.cells().items()
            if self._was_sent(name) and name not in self._to_keep()
        }
        return {**typed, **self.fixed}

    def text_of(self, name: str) -> str:
        """Return what a column says after saving; what was not sent stays as it was."""
        typed = self.entry().get(name, self[name].value())
        return str(self.fields[name].initial if typed is None else typed)

    def seen(self, pk: int) -> Seen:
        """Return the stored row as it was when the form was opened, for a keep job."""
        return Seen(pk, conflicts.seen_version(self.data))

    def _to_keep(self) -> list[str]:
        getlist = getattr(self.data, "getlist", None)
        return getlist(conflicts.THEIRS) if getlist else []

    def _was_sent(self, name: str) -> bool:
        return not self.fields[name].widget.value_omitted_from_data(
            self.data, self.files, self.add_prefix(name)
        )

    def read(self) -> dict[str, Any] | None:
        """Return the values of the entry, for a job that takes values.

        None if some cannot be read; the sentences then stand beside their fields.
        What was not sent at all counts as blank.
        """
        reading = self.sheet.read({**dict.fromkeys(self.cells(), ""), **self.entry()})
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

    def take_conflict(self, error: ChangedSinceError) -> None:
        """Show what somebody else saved meanwhile, beside what was typed here.

        Saving again is then as of the version that this shows.
        """
        was = conflicts.opened_texts(self.data)
        theirs = self._texts(error.theirs)
        data: QueryDict = self.data.copy()  # type: ignore[attr-defined]  # as posted
        for name, field in self.cells().items():
            if name not in error.theirs:
                continue
            found = conflicts.conflict(
                self.sheet.column(name),
                mine=self._said(name, theirs),
                theirs=theirs[name],
                was=was.get(name),
            )
            field.conflict = found
            if found is not None:
                field.widget.attrs["aria-invalid"] = "true"  # the cursor goes there
                if not found.is_mine_too:
                    field.put(data, name, found.theirs)
        data.pop(conflicts.THEIRS, None)
        for name, text in self._opened(error.version, theirs).items():
            data[name] = text
        self.data = data
        self.add_error(None, conflicts.CHANGED_SINCE)

    def _said(self, name: str, theirs: Mapping[str, str]) -> str:
        """Return what a field says; what was not sent stays as it is stored."""
        return str(self.entry().get(name, theirs[name]))


def column_text(column: Column, value: Any) -> str:
    """Return a stored value, or one that was typed, as a field's text."""
    return value if isinstance(value, str) else column.text(value)


def posted(request: HttpRequest) -> QueryDict | None:
    """Return what a form sent; None where a page is only looked at."""
    return request.POST if request.method == "POST" else None


def keep_from_form(
    form: EntryForm, keep: Callable[..., Kept], **options: Any
) -> Kept | None:
    """Hand a form's entry to a keep job; return what became of it.

    None if the job refused it; the sentences, or what somebody else saved meanwhile,
    then stand beside their fields.
    """
    try:
        return keep([form.entry()], **options)
    except EntryFaultsError as error:
        form.take_faults(error)
    except ChangedSinceError as error:
        form.take_conflict(error)
    except StockError as error:
        form.add_error(None, str(error))
    return None
