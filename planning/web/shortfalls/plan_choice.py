"""What plan a page is asked for: how many days, and with which cakes."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.engine.plan import ShortfallKind
from planning.plan.horizon import LONGEST_PLAN_DAYS, usual_days
from planning.plan.planner import Planned, make_plan
from planning.search.searching import as_chosen
from stock.models import Bakery

INCLUDE, LEAVE_OUT = "include", "leave-out"
EVERY_KIND = "all"


class PlanChoiceForm(forms.Form):
    """The choice, as an address carries it."""

    days = forms.IntegerField(
        label=gettext_lazy("Days ahead"),
        min_value=1,
        max_value=LONGEST_PLAN_DAYS,
        error_messages={
            "invalid": gettext_lazy("Write a whole number of days, such as 14."),
            "min_value": gettext_lazy("A plan looks 1 day ahead or more."),
            "max_value": f"A plan looks at most {LONGEST_PLAN_DAYS} days ahead.",
        },
    )
    tentative = forms.ChoiceField(
        label=gettext_lazy("Tentative cakes"),
        choices=[
            (INCLUDE, gettext_lazy("counted in")),
            (LEAVE_OUT, gettext_lazy("left out")),
        ],
    )


class ShortfallChoiceForm(PlanChoiceForm):
    """The choice with a kind of shortfall, so that one sees only these."""

    kind = forms.ChoiceField(
        label=gettext_lazy("What is shown"),
        choices=[
            (EVERY_KIND, gettext_lazy("everything that is short")),
            (ShortfallKind.OUT.value, gettext_lazy("what runs out")),
            (ShortfallKind.BELOW_SAFETY.value, gettext_lazy("what falls below safety")),
            (ShortfallKind.BELOW_PAR.value, gettext_lazy("what falls below par")),
        ],
    )


@dataclass(frozen=True)
class PlanChoice:
    """The choice as it was understood; what could not be read is the usual."""

    bakery: Bakery
    usual_days: int
    days: int
    tentative: bool
    kind: str
    form: forms.Form

    @classmethod
    def from_address(
        cls,
        asked: Mapping[str, Any],
        bakery: Bakery,
        form_class: type[PlanChoiceForm] = PlanChoiceForm,
    ) -> "PlanChoice":
        """Read an address; what it leaves out is the bakery's usual."""
        days = usual_days(bakery, timezone.localdate())
        usual = {"days": days, "tentative": INCLUDE, "kind": EVERY_KIND}
        named = {field: asked[field] for field in usual if field in asked}
        form = form_class({**usual, **named})
        form.full_clean()
        found = {**usual, **form.cleaned_data}
        return cls(
            bakery,
            usual_days=days,
            days=found["days"],
            tentative=found["tentative"] == INCLUDE,
            kind=found["kind"],
            form=form,
        )

    @property
    def query(self) -> str:
        """What another page's address takes to show the same plan; usually nothing."""
        return f"?{urlencode(self._unusual)}" if self._unusual else ""

    @property
    def _unusual(self) -> dict[str, object]:
        unusual: dict[str, object] = {}
        if self.days != self.usual_days:
            unusual["days"] = self.days
        if not self.tentative:
            unusual["tentative"] = LEAVE_OUT
        return unusual

    def url_of(self, kind: ShortfallKind) -> str:
        """Return what the page's own address takes to show all of one kind."""
        return f"?{urlencode({**self._unusual, 'kind': kind.value})}"

    @property
    def words(self) -> str:
        """The choice in few words: what is shown, and how far ahead."""
        days = ngettext("{days} day ahead", "{days} days ahead", self.days).format(
            days=self.days
        )
        return (
            days
            if self.tentative
            else _("{days}, without tentative cakes").format(days=days)
        )

    def plan(self, *, as_of: datetime) -> Planned:
        """Return the plan that was asked for, with the orders that people go by."""
        planned = make_plan(
            bakery=self.bakery, as_of=as_of, days=self.days, tentative=self.tentative
        )
        return planned if self.query else as_chosen(planned)
