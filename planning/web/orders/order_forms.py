"""How many packs an order asks for, as a form; jobs decide what may be."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _

from planning.errors import DeliveryDayError, OrderPackError
from planning.orders.order_book import BookedOrder
from planning.orders.orders import MOST_PACKS, Hand, set_packs
from planning.orders.revising import Wanted, set_revision
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, Text, WholeNumber, is_blank
from stock.models import Bakery, Pack
from stock.templatetags.words import price
from stock.web.forms.entry_fields import AS_TYPED, CellField, DateInput, NumberInput
from stock.web.request.row_ids import sent_id

PACK_COUNT = WholeNumber(most=MOST_PACKS)
PACKS_INPUT = {**AS_TYPED, "inputmode": "numeric"}
ADD_PACK, ADD_PACKS, NOTE = "add_pack", "add_packs", "note"
DELIVER_ON, DATE = "deliver_on", Day()
MOST_NOTE_LETTERS = 300
NOTE_TEXT = Text(max_length=MOST_NOTE_LETTERS)


class OrderLinesForm(forms.Form):
    """One field for each line's packs, and two to add a line."""

    use_required_attribute = False

    def __init__(
        self,
        booked: BookedOrder,
        more_packs: Sequence[Pack],
        data: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data)
        self.currency = booked.sheet.currency
        self.deliver_on = booked.sheet.deliver_on
        self.name_by_pack = {
            line.pack_id: f"packs_{line.pack_id}" for line in booked.lines
        }
        for line in booked.lines:
            self.fields[self.name_by_pack[line.pack_id]] = CellField(
                initial=line.packs, widget=NumberInput(PACKS_INPUT)
            )
        choices = [("", _("Nothing more")), *map(self._choice, more_packs)]
        self.pack_id_by_choice = {str(pack.pk): pack.pk for pack in more_packs}
        self.fields[ADD_PACK] = CellField(
            label=_("Add a line"), required=False, widget=forms.Select(choices=choices)
        )
        self.fields[ADD_PACKS] = CellField(
            label=_("How many packs"), required=False, widget=NumberInput(PACKS_INPUT)
        )
        self.fields[NOTE] = CellField(
            label=_("Note for the supplier"), required=False, initial=booked.order.note
        )

    def _choice(self, pack: Pack) -> tuple[str, str]:
        cost = price(pack.price_on(self.deliver_on), self.currency)
        return str(pack.pk), f"{pack.item.name}: {pack.label}, {cost}"

    def field_by_pack(self) -> dict[int, BoundField]:
        """Return the field of each line."""
        return {pack_id: self[name] for pack_id, name in self.name_by_pack.items()}

    def save(self, hand: Hand) -> bool:
        """Hand what was typed to the job; False if it was refused beside its field.

        An order that somebody else moved on is refused as a whole: the error rises.
        """
        typed, note = self._typed(), self._note()
        if self.errors:
            return False
        try:
            self._keep(hand, typed, note)
        except OrderPackError as error:
            self.add_error(self.name_by_pack.get(error.pack_id, ADD_PACKS), str(error))
            return False
        return True

    def _keep(self, hand: Hand, typed: dict[int, int], note: str | None) -> None:
        set_packs(hand, typed, note)

    def _typed(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for pack_id, name in self.name_by_pack.items():
            if name in self.data:
                self._read(name, pack_id, found)
        found |= self._typed_of_others()
        chosen = str(self[ADD_PACK].data or "")
        if chosen and chosen in self.pack_id_by_choice:
            self._read(ADD_PACKS, self.pack_id_by_choice[chosen], found)
        elif chosen or not is_blank(self[ADD_PACKS].data):
            self.add_error(ADD_PACK, _("Choose what these packs are of."))
        return found

    def _typed_of_others(self) -> dict[int, int]:
        """Return what an older page says of lines that are gone; the job refuses it."""
        found: dict[int, int] = {}
        for name, text in self.data.items():
            pack_id = sent_id(name.removeprefix("packs_"))
            if pack_id is None or name != f"packs_{pack_id}" or name in self.fields:
                continue
            try:
                found[pack_id] = PACK_COUNT.parse(text)
            except CellError as error:
                self.add_error(ADD_PACKS, str(error))
        return found

    def _note(self) -> str | None:
        """Return the note as typed; None where the form came without the field."""
        if NOTE not in self.data:
            return None
        text = " ".join(str(self[NOTE].data).split())
        try:
            return NOTE_TEXT.parse(text) if text else ""
        except CellError as error:
            self.add_error(NOTE, str(error))
            return None

    def _read(self, name: str, pack_id: int, found: dict[int, int]) -> None:
        text = self[name].data
        if is_blank(text):
            self.add_error(name, _("Write how many packs, or 0 for none."))
            return
        try:
            found[pack_id] = PACK_COUNT.parse(text)
        except CellError as error:
            self.add_error(name, str(error))


class RevisionForm(OrderLinesForm):
    """The same of a revision, with its day; the job keeps it beside what was sent."""

    def __init__(
        self,
        booked: BookedOrder,
        more_packs: Sequence[Pack],
        data: Mapping[str, Any] | None = None,
        *,
        bakery: Bakery,
    ) -> None:
        super().__init__(booked, more_packs, data)
        self.bakery, self.booked = bakery, booked
        self.fields[DELIVER_ON] = CellField(
            label=_("Deliver on"), initial=booked.order.deliver_on, widget=DateInput
        )

    def _keep(self, hand: Hand, typed: dict[int, int], note: str | None) -> None:
        row = self.booked.order
        try:
            day = DATE.parse(self.data.get(DELIVER_ON, row.deliver_on.isoformat()))
            note = row.note if note is None else note
            set_revision(hand, Wanted(typed, day, note), bakery=self.bakery)
        except (CellError, DeliveryDayError) as error:
            self.add_error(DELIVER_ON, str(error))

    def save(self, hand: Hand) -> bool:
        """Hand what was typed to the job; False if it was refused beside its field."""
        return super().save(hand) and not self.errors
