"""What a search for better orders is asked for: how long, and from whom."""

from datetime import datetime

from django import forms
from django.http import QueryDict

from planning.engine.ordering.kept_wishes import KeptWishes
from planning.errors import PlanningError
from planning.models import OrderSearch
from planning.planner import Planned
from planning.searching import Asked, start_search


class SearchForm(forms.Form):
    """How long to look; suppliers to leave out, and those rather to order from."""

    use_required_attribute = False
    effort = forms.ChoiceField(
        choices=OrderSearch.Effort.choices,
        initial=OrderSearch.Effort.USUAL,
        widget=forms.RadioSelect,
        label="How long may it take?",
        error_messages={
            "required": "Choose how long to look.",
            "invalid_choice": "Choose one from the list.",
        },
    )
    left_out = forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Order nothing from",
        error_messages={"invalid_choice": "Choose suppliers from the list."},
    )
    preferred = forms.TypedMultipleChoiceField(
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Rather order from",
        help_text="What they can bring without leaving more short comes from them.",
        error_messages={"invalid_choice": "Choose suppliers from the list."},
    )

    def __init__(self, planned: Planned, data: QueryDict | None = None) -> None:
        super().__init__(data)
        kitchen = planned.kitchen
        selling = {pack.supplier for pack in kitchen.packs}
        self._names = {
            supplier.supplier_id: supplier.name
            for place, supplier in enumerate(kitchen.suppliers)
            if place in selling
        }
        for field in ("left_out", "preferred"):
            self.fields[field].choices = list(self._names.items())  # type: ignore[attr-defined]

    @property
    def has_wishes(self) -> bool:
        """Whether anything was asked for beyond how long, right or wrong."""
        return any(self[field].value() for field in ("left_out", "preferred"))

    def clean(self) -> None:
        """Refuse wishes that contradict each other."""
        left_out = self.cleaned_data.get("left_out", [])
        both = set(left_out) & set(self.cleaned_data.get("preferred", []))
        if both:
            names = " and ".join(sorted(self._names[key] for key in both))
            self.add_error("preferred", f"{names}: nothing is ordered from them.")
        if left_out and len(left_out) == len(self._names):
            self.add_error("left_out", "Leave somebody to order from.")

    def start(self, *, at: datetime, by_id: int | None) -> bool:
        """Start the search; False if it was refused, with the sentence on the form."""
        if not self.is_valid():
            return False
        asked = Asked(
            effort=self.cleaned_data["effort"],
            wishes=KeptWishes(
                left_out=tuple(self.cleaned_data["left_out"]),
                preferred=tuple(self.cleaned_data["preferred"]),
            ),
        )
        try:
            start_search(asked, at=at, by_id=by_id)
        except PlanningError as error:
            self.add_error(None, str(error))
            return False
        return True
