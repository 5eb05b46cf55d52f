"""What came of one line of an order, as a form at the door; the job decides."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.errors import DeliveryFault
from planning.models import OrderLine
from planning.orders.delivery_checks import CameLine, use_by_of
from planning.orders.orders import MOST_PACKS
from planning.wording.delivery_words import packs_of_line
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, WholeNumber, is_blank
from stock.web.forms.entry_fields import AS_TYPED, CellField, DateInput, NumberInput

PACK_COUNT = WholeNumber(most=MOST_PACKS)
COME, CLOSE = "come", "close"
DATE = Day()


class ReceiveLineForm(forms.Form):
    """How many packs came, until when they keep, of which lot, and the rest.

    What was `scanned` of it stands in its fields, by their names.
    """

    use_required_attribute = False
    packs = CellField(label=gettext_lazy("Came"), widget=NumberInput({**AS_TYPED}))
    rest = forms.ChoiceField(
        label=gettext_lazy("What did not come"),
        choices=[
            (COME, gettext_lazy("Still to come")),
            (CLOSE, gettext_lazy("Close line")),
        ],
        widget=forms.RadioSelect,
        required=False,
    )
    use_by = CellField(
        label=gettext_lazy("Use by, on the label"), required=False, widget=DateInput
    )
    lot_code = CellField(label=gettext_lazy("Lot"), required=False)
    shown_use_by = CellField(required=False, widget=forms.HiddenInput)
    confirmed = forms.BooleanField(label=gettext_lazy("Yes, it is so"), required=False)

    def __init__(
        self,
        line: OrderLine,
        received_on: date,
        data: Mapping[str, Any] | None = None,
        *,
        scanned: Mapping[str, Any] | None = None,
    ) -> None:
        self.line = line
        self.is_opened = scanned is not None
        self.default_use_by = use_by_of(line.pack.item, None, received_on)
        default = self.default_use_by and self.default_use_by.isoformat()
        initial = {
            "packs": line.packs_expected,
            "rest": COME,
            "use_by": default,
            "shown_use_by": default,
            **(scanned or {}),
        }
        super().__init__(data, prefix=f"line_{line.pk}", initial=initial)
        self.fields["packs"].widget.attrs |= {
            "inputmode": "numeric",
            "data-packs": line.packs_to_come,
        }
        self.asks = False

    @property
    def ordered_words(self) -> str:
        """Return what is expected: of 2 jugs."""
        return _("of {packs_of_line}").format(
            packs_of_line=packs_of_line(self.line, self.line.packs_to_come)
        )

    def read(self) -> CameLine | None:
        """Return what was typed; None where it cannot be read, said at its field."""
        self.is_valid()
        packs = self._read("packs", PACK_COUNT, _("Enter how many packs came, or 0."))
        use_by = None if self._keeps_shown_use_by else self._read("use_by", DATE, "")
        if self.errors:
            return None
        return CameLine(
            self.line.pk,
            packs,
            use_by=use_by,
            lot_code=str(self["lot_code"].data or ""),
            closes=self["rest"].data == CLOSE,
            confirmed=bool(self.cleaned_data.get("confirmed")),
        )

    @property
    def _keeps_shown_use_by(self) -> bool:
        """Whether nobody touched the date: it belongs to the day on which it came.

        A page that was left open overnight shows the one of the day before.
        """
        return str(self["use_by"].data) == str(self["shown_use_by"].data)

    def refuse(self, fault: DeliveryFault) -> None:
        """Say at its field what the job refuses, or asks."""
        self.asks |= fault.is_question
        self.add_error(fault.field, fault.sentence)

    def _read(self, name: str, kind: Any, if_blank: str) -> Any:
        text = self[name].data
        if is_blank(text):
            if if_blank and name not in self.errors:
                self.add_error(name, if_blank)
            return None
        try:
            return kind.parse(text)
        except CellError as error:
            self.add_error(name, str(error))
        return None
