"""Telling what a change of the bake plan makes short and sets free."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from django.contrib import messages
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.bakeplan.freed import BeforeAndAfter, freed_sentences
from planning.engine.scenarios.what_if import DropCake, EditCake, as_if
from planning.errors import PlanningError
from planning.plan.outlook import Outlook, look_ahead, look_at
from planning.web.cakes.lack_words import change_sentences
from planning.web.page_words import telling_from
from stock.web.request.bakery_time import current_bakery

NOTHING_SHORT = gettext_lazy("Nothing runs short because of it.")
MOST_SEEN = 3  # of what a change frees; the rest is folded
MORE = '<details><summary>{}</summary><ul class="states">{}</ul></details>'
NOT_SAVED_YET = gettext_lazy(
    "Not saved yet. See what this frees, then save it all the same."
)


class Folded(NamedTuple):
    """Sentences that are seen at once, and those that a tap opens."""

    first: Sequence[str]
    rest: Sequence[str]


def folded(sentences: Sequence[str]) -> Folded:
    """Return the first few sentences, and the others."""
    return Folded(sentences[:MOST_SEEN], sentences[MOST_SEEN:])


class PlanChange:
    """A change of the bake plan: made between its beginning and `tell`.

    It looks ahead as far as the last of the days that the change is about.
    """

    def __init__(self, request: HttpRequest, days: Iterable[date | None]) -> None:
        self.request = request
        self.today = timezone.localdate()
        known = [day for day in days if day is not None]
        self.until = max(known) if known else None
        try:
            self.before: Outlook | None = self._look()
        except PlanningError:
            self.before = None  # what is wrong now is said after the change

    def frees(self, change: EditCake | DropCake) -> list[str]:
        """Return what a change would set free, before it is made, a sentence each."""
        if self.before is None:
            return []
        if change.reference not in self.before.kitchen.cakes.references:
            return []  # somebody cancelled or baked it meanwhile
        kitchen = as_if(self.before.kitchen, [change])
        try:
            after = look_at(kitchen, self.before.window, self.before.words)
        except PlanningError:
            return []  # it is said beside its field, or after the change
        return self._freed(self.before, after)

    def tell(
        self, words: str, *, is_new_need: bool = True, may_free: bool = False
    ) -> None:
        """Say that it is done, what it makes short or late, and what it sets free.

        That nothing runs short is said only where something was asked for.
        """
        try:
            after = self._look()
        except PlanningError as error:
            messages.success(self.request, words)
            messages.warning(
                self.request,
                _("The plan cannot be worked out: {error}").format(error=error),
            )
            return
        sentences = change_sentences(self.before, after) if self.before else []
        if not sentences and self.before and is_new_need and self._is_ahead():
            words = f"{words} {NOTHING_SHORT}"
        messages.success(self.request, words)
        for sentence in sentences:
            messages.warning(self.request, sentence)
        if may_free and self.before:
            freed = folded(self._freed(self.before, after))
            for sentence in freed.first:
                messages.info(self.request, sentence)
            if freed.rest:
                rest = format_html_join(
                    "", "<li>{}</li>", ([row] for row in freed.rest)
                )
                messages.info(
                    self.request,
                    format_html(
                        MORE, _("{count} more").format(count=len(freed.rest)), rest
                    ),
                )

    def _freed(self, before: Outlook, after: Outlook) -> list[str]:
        change = BeforeAndAfter(current_bakery(self.request), before, after)
        return freed_sentences(change, telling_from(self.today))

    def _look(self) -> Outlook:
        # As of now each time: what a bake took stands after the moment it began.
        return look_ahead(
            bakery=current_bakery(self.request), as_of=timezone.now(), until=self.until
        )

    def _is_ahead(self) -> bool:
        return self.until is not None and self.until >= self.today
