"""Telling what a change of the bake plan makes short, once it is stored."""

from collections.abc import Iterable
from datetime import date

from django.contrib import messages
from django.http import HttpRequest
from django.utils import timezone

from planning.errors import PlanningError
from planning.outlook import Outlook, look_ahead
from planning.web.cakes.lack_words import change_sentences
from stock.web.bakery_time import current_bakery

NOTHING_SHORT = "Nothing runs short because of it."


class PlanChange:
    """A change of the bake plan: made between its beginning and `tell`.

    It looks ahead as far as the last of the days that the change is about.
    """

    def __init__(self, request: HttpRequest, days: Iterable[date | None]) -> None:
        self.request = request
        self.now = timezone.now()
        self.today = timezone.localdate(self.now)
        known = [day for day in days if day is not None]
        self.until = max(known) if known else None
        try:
            self.before: Outlook | None = self._look()
        except PlanningError:
            self.before = None  # what is wrong now is said after the change

    def tell(self, words: str, *, is_new_need: bool = True) -> None:
        """Say that it is done, and what it makes short or late.

        That nothing runs short is said only where something was asked for.
        """
        try:
            after = self._look()
        except PlanningError as error:
            messages.success(self.request, words)
            messages.warning(self.request, f"The plan cannot be worked out: {error}")
            return
        sentences = change_sentences(self.before, after) if self.before else []
        if not sentences and self.before and is_new_need and self._is_ahead():
            words = f"{words} {NOTHING_SHORT}"
        messages.success(self.request, words)
        for sentence in sentences:
            messages.warning(self.request, sentence)

    def _look(self) -> Outlook:
        return look_ahead(
            bakery=current_bakery(self.request), as_of=self.now, until=self.until
        )

    def _is_ahead(self) -> bool:
        return self.until is not None and self.until >= self.today
