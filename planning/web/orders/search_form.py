"""What a search for better orders is asked for: how long, and around which wishes."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.kitchen import SupplierDay
from planning.engine.ordering.instance.wishes import (
    NOTHING_WISHED,
    FixedLine,
    KeptWishes,
)
from planning.errors import PlanningError
from planning.models import OrderSearch
from planning.plan.planner import Planned
from planning.search.errors import SearchMovedOnError
from planning.search.searching import (
    ANY_SEARCH,
    SearchRequest,
    last_search,
    start_search,
)
from planning.web.orders.order_forms import PACK_COUNT, PACKS_INPUT
from planning.web.orders.order_words import sold_words
from planning.web.orders.search_words import moved_on_words
from planning.web.orders.wish_entries import (
    FORBID,
    LEFT_OUT,
    MORE,
    PREFER,
    PREFERRED,
    STEP,
    TAKE_BACK,
    WishEntries,
    line_name,
    read_entries,
    settled,
    truck_name,
)
from planning.web.orders.wish_words import WishWords
from stock.entry.cells import CellError
from stock.web.forms.entry_fields import CellField, DateInput, NumberInput
from stock.web.request.row_ids import sent_id

# Fields stand beside the lines that they are about, wherever the form itself is.
OF_FORM = {"form": "wishes"}
TRUCK_CHOICES = (
    ("", gettext_lazy("As the search finds best")),
    (PREFER, gettext_lazy("Rather this one")),
    (FORBID, gettext_lazy("No order for it")),
)


@dataclass(frozen=True, slots=True)
class WishRow:
    """One wish: in words, with its field where it has one."""

    name: str
    words: str
    field: BoundField | None = None
    gone: str = ""  # why it cannot be any more


class SearchForm(forms.Form):
    """How long to look; what to keep, to leave out, and to order rather."""

    use_required_attribute = False
    effort = forms.ChoiceField(
        choices=OrderSearch.Effort.choices,
        initial=OrderSearch.Effort.USUAL,
        widget=forms.RadioSelect,
        label=gettext_lazy("How long may it take?"),
        error_messages={
            "required": gettext_lazy("Choose how long to look."),
            "invalid_choice": gettext_lazy("Choose one from the list."),
        },
    )
    left_out = forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Order nothing from"),
        error_messages={
            "invalid_choice": gettext_lazy("Choose suppliers from the list.")
        },
    )
    preferred = forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Rather order from"),
        help_text=gettext_lazy(
            "What they can bring without leaving more short comes from them."
        ),
        error_messages={
            "invalid_choice": gettext_lazy("Choose suppliers from the list.")
        },
    )

    more_pack = CellField(label=gettext_lazy("Pack"), required=False)
    more_on = CellField(
        label=gettext_lazy("Delivered on"), required=False, widget=DateInput
    )
    more_packs = CellField(
        label=gettext_lazy("How many packs"),
        required=False,
        widget=NumberInput(PACKS_INPUT),
    )

    def __init__(
        self,
        planned: Planned,
        data: QueryDict | None = None,
        *,
        now: datetime,
        last: OrderSearch | None = None,
    ) -> None:
        kept = last.kept_wishes if last and data is None else NOTHING_WISHED
        initial: dict[str, Any] = {LEFT_OUT: kept.left_out, PREFERRED: kept.preferred}
        if last is not None:
            initial["effort"] = last.effort
        data = data if data is None else settled(data)
        super().__init__(data, initial=initial)
        self.seen = (last.pk if last else "") if data is None else data.get("seen", "")
        self.is_to_start = data is not None and not {STEP, TAKE_BACK} & data.keys()
        self.words = WishWords(planned, now)
        self._names = _selling(planned)
        for field in (LEFT_OUT, PREFERRED):
            self.fields[field].choices = list(self._names.items())  # type: ignore[attr-defined]
        self.fields["more_pack"].widget = forms.Select(choices=_pack_choices(planned))
        self.entries = WishEntries.of(kept) if data is None else read_entries(data)
        self._gone = {} if self.is_bound else self._all_gone()
        self._add_fields()

    def _add_fields(self) -> None:
        for place, text in self.entries.lines.items():
            self.fields[line_name(*place)] = CellField(
                required=False,
                initial=text,
                label=self.words.line(*place),
                widget=NumberInput(PACKS_INPUT | OF_FORM),
            )
        for truck, text in self.entries.trucks.items():
            self._add_truck(truck, text)

    def _add_truck(self, truck: SupplierDay, chosen: str = "") -> None:
        self.fields[truck_name(*truck)] = forms.ChoiceField(
            required=False,
            initial=chosen,
            label=self.words.truck(*truck),
            choices=TRUCK_CHOICES,
            widget=forms.Select(OF_FORM),
        )

    def _all_gone(self) -> dict[str, str]:
        """Return what was wished before and cannot be any more, with the reason."""
        problems = {
            line_name(*place): self._place_problem(*place)
            for place in self.entries.lines
        } | {
            truck_name(*truck): self.words.truck_problem(*truck)
            for truck in self.entries.trucks
        }
        return {name: problem for name, problem in problems.items() if problem}

    def truck_field(self, supplier_id: int, deliver_on: date) -> BoundField:
        """Return the field that prefers or forbids a delivery nothing is wished of."""
        self._add_truck(SupplierDay(supplier_id, deliver_on))
        return self[truck_name(supplier_id, deliver_on)]

    def truck_words(self, supplier_id: int, deliver_on: date) -> str:
        """Return what is wished of a delivery already; blank if nothing is."""
        chosen = self.entries.trucks.get(SupplierDay(supplier_id, deliver_on), "")
        return (
            _("Your wish: {dict}").format(dict=dict(TRUCK_CHOICES)[chosen].lower())
            if chosen
            else ""
        )

    def other_trucks(self, listed: set[SupplierDay]) -> list[BoundField]:
        """Return a field for each delivery that is not listed and not wished of."""
        kitchen = self.words.planned.kitchen
        trucks = [
            SupplierDay(kitchen.suppliers[truck.supplier].supplier_id, truck.deliver_on)
            for truck in self.words.planned.deliveries
            if kitchen.suppliers[truck.supplier].supplier_id in self._names
        ]
        return [
            self.truck_field(*truck)
            for truck in sorted(trucks, key=lambda one: (self._names[one[0]], one[1]))
            if truck not in listed | self.entries.trucks.keys()
        ]

    def line_words(self, pack_id: int, deliver_on: date) -> str:
        """Return how a line is fixed already; blank if it is free."""
        text = self.entries.lines.get((pack_id, deliver_on), "")
        return _("Your wish: exactly {text}").format(text=text) if text else ""

    @property
    def wish_rows(self) -> list[WishRow]:
        """Every wish, those for suppliers first."""
        said = {LEFT_OUT: _("Nothing from"), PREFERRED: _("Rather from")}
        names = {str(key): name for key, name in self._names.items()}
        return [
            *(
                WishRow(f"{name}_{key}", f"{words} {names[str(key)]}")
                for name, words in said.items()
                for key in self[name].value() or ()
                if str(key) in names
            ),
            *(self._row(truck_name(*truck)) for truck in self.entries.trucks),
            *(self._row(line_name(*place)) for place in self.entries.lines),
        ]

    def _row(self, name: str) -> WishRow:
        label = str(self.fields[name].label)
        return WishRow(name, label, self[name], self._gone.get(name, ""))

    @property
    def has_more(self) -> bool:
        """Whether one more line was begun, but not all of it said."""
        return any(self[name].value() for name in MORE)

    @property
    def has_supplier_wishes(self) -> bool:
        """Whether any supplier was chosen, right or wrong."""
        return any(self[field].value() for field in (LEFT_OUT, PREFERRED))

    def clean(self) -> None:
        """Refuse what cannot be, and wishes that contradict each other."""
        left_out = self.cleaned_data.get(LEFT_OUT, [])
        both = set(left_out) & set(self.cleaned_data.get(PREFERRED, []))
        if both:
            names = " and ".join(sorted(self._names[key] for key in both))
            self.add_error(
                PREFERRED,
                _("{names}: nothing is ordered from them.").format(names=names),
            )
        if left_out and len(left_out) == len(self._names):
            self.add_error(LEFT_OUT, _("Leave somebody to order from."))
        if self.has_more:
            self.add_error("more_pack", _("Say which pack, which day and how many."))
        for truck, chosen in self.entries.trucks.items():
            problem = self.words.truck_problem(*truck)
            if not problem and chosen == PREFER and truck[0] in left_out:
                problem = _("Nothing is ordered from {names}.").format(
                    names=self._names[truck[0]]
                )
            self._refuse(truck_name(*truck), problem)
        self.fixed_lines = [
            line
            for place, text in self.entries.lines.items()
            if (line := self._read_line(place, text, left_out)) is not None
        ]

    def _refuse(self, name: str, problem: str) -> None:
        if problem:
            self.add_error(name, problem)

    def _read_line(
        self, place: tuple[int, date], text: str, left_out: list[int]
    ) -> FixedLine | None:
        """Return a fixed line; None if it was refused beside its field."""
        name, problem, packs = line_name(*place), self._place_problem(*place), 0
        try:
            packs = PACK_COUNT.parse(text)
        except CellError as error:
            problem = problem or str(error)
        problem = problem or self._packs_problem(place, packs, left_out)
        self._refuse(name, problem)
        return None if problem else FixedLine(*place, packs)

    def _place_problem(self, pack_id: int, deliver_on: date) -> str:
        problem = self.words.pack_problem(pack_id)
        if problem:
            return problem
        return self.words.truck_problem(self._supplier_of(pack_id), deliver_on)

    def _packs_problem(
        self, place: tuple[int, date], packs: int, left_out: list[int]
    ) -> str:
        pack_id, deliver_on = place
        supplier_id = self._supplier_of(pack_id)
        truck = SupplierDay(supplier_id, deliver_on)
        is_forbidden = self.entries.trucks.get(truck) == FORBID
        if packs and (supplier_id in left_out or is_forbidden):
            where = self.words.truck(supplier_id, deliver_on)
            return _(
                "Nothing is to come from {where}: take one of the two wishes back."
            ).format(where=where)
        return sold_words(self.words.packs[pack_id], packs)

    def _supplier_of(self, pack_id: int) -> int:
        suppliers = self.words.planned.kitchen.suppliers
        return suppliers[self.words.packs[pack_id].supplier].supplier_id

    def wishes(self) -> KeptWishes:
        """Return the wishes of a valid form."""
        trucks = self.entries.trucks.items()
        return KeptWishes(
            fixed_lines=tuple(self.fixed_lines),
            left_out=tuple(self.cleaned_data[LEFT_OUT]),
            preferred=tuple(self.cleaned_data[PREFERRED]),
            forbidden_deliveries=tuple(
                truck for truck, chosen in trucks if chosen == FORBID
            ),
            preferred_deliveries=tuple(
                truck for truck, chosen in trucks if chosen == PREFER
            ),
        )

    def start(self, *, at: datetime, by_id: int | None) -> bool:
        """Start the search; False if it was refused, with the sentence on the form."""
        if not self.is_valid():
            return False
        asked = SearchRequest(self.cleaned_data["effort"], self.wishes())
        try:
            start_search(asked, at=at, by_id=by_id, seen_id=self._seen_id())
        except SearchMovedOnError as error:
            last = last_search()
            self.seen = last.pk if last else ""
            self.add_error(None, moved_on_words(last, self.words, str(error)))
            return False
        except PlanningError as error:
            self.add_error(None, str(error))
            return False
        return True

    def _seen_id(self) -> int | None:
        """Return the last search that the page showed; any, where it says nothing."""
        if "seen" not in self.data:
            return ANY_SEARCH
        return sent_id(str(self.seen))


def _selling(planned: Planned) -> dict[int, str]:
    """Return the names of the suppliers who sell something, by their ids."""
    kitchen = planned.kitchen
    selling = {pack.supplier for pack in kitchen.packs}
    return {
        supplier.supplier_id: supplier.name
        for place, supplier in enumerate(kitchen.suppliers)
        if place in selling
    }


def _pack_choices(planned: Planned) -> list[tuple[str, str]]:
    """Return every pack that can be bought, by its item's name."""
    kitchen = planned.kitchen
    names, retired = kitchen.nodes.names, kitchen.nodes.retired
    found = [
        (
            _("{names}: {label} from {name}").format(
                names=names[pack.node],
                label=pack.label,
                name=kitchen.suppliers[pack.supplier].name,
            ),
            str(pack.pack_id),
        )
        for pack in kitchen.packs
        if not retired[pack.node]
    ]
    return [
        ("", _("None")),
        *(
            (key, name)
            for name, key in sorted(found, key=lambda one: one[0].casefold())
        ),
    ]
