"""The changes that somebody tries out: they wait in the session, and nowhere else."""

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import cached_property
from hashlib import sha256

from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.entry.sheets import BAKE_PLAN
from planning.plan.horizon import usual_days
from planning.plan.planner import Planned
from planning.scenarios.accepting import changed_since, row_as_tried
from planning.scenarios.what_if import (
    Around,
    Comparison,
    Understood,
    compare,
    is_of_same,
    real_plan,
    tried_against,
    understand,
    understand_all,
)
from planning.scenarios.what_if_kinds import KINDS
from planning.scenarios.what_if_names import WhatIfError
from planning.search.searching import as_chosen
from planning.web.page_words import PageWords
from stock.entry.cells import CellError
from stock.web.request.bakery_time import current_bakery

SESSION_KEY = "what_if"
MOST_CHANGES = 30  # a session is kept small
Change = tuple[str, dict[str, str]]
Waiting = list[Change]
MARK_LETTERS = 12


def mark_of(*changes: Change) -> str:
    """Return what a page sends back of changes that it shows: others, another mark."""
    text = json.dumps(changes, sort_keys=True)
    return sha256(text.encode()).hexdigest()[:MARK_LETTERS]


class Trial:
    """The changes of one session, and the plan that they are about."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request
        self.today = timezone.localdate()

    @property
    def waiting(self) -> Waiting:
        """The changes as they were typed."""
        found = self._request.session.get(SESSION_KEY, [])
        return [(kind, dict(entry)) for kind, entry in found if kind in KINDS]

    @cached_property
    def real(self) -> Planned:
        """The plan as it is, ahead to the last day that a change speaks of."""
        return real_plan(
            bakery=current_bakery(self._request),
            as_of=timezone.now(),
            due=[day for _, entry in self.waiting if (day := _due(entry))],
        )

    def in_force(self) -> Planned:
        """Return the plan with the orders that people go by, as other pages show it.

        Found orders hold for the usual horizon only, however far the trial looks.
        """
        usual, bakery = self.real, self.real.bakery
        if usual.plan.window.days != usual_days(bakery, usual.plan.window.from_on):
            usual = real_plan(bakery=bakery, as_of=usual.plan.window.as_of, due=[])
        return as_chosen(usual)

    @property
    def around(self) -> Around:
        """The kitchen as it is, and how a page says things."""
        words = PageWords(self.real, self.today)
        return Around(self.real.kitchen, self.real.words, words.telling, self.today)

    @cached_property
    def found(self) -> list[Understood | WhatIfError]:
        """Every change as it is understood now, or why it can be no more."""
        read = understand_all(self.waiting, self.around)
        understood = [each for each in read if isinstance(each, Understood)]
        since = dict(zip(map(id, understood), changed_since(understood), strict=True))
        return [
            WhatIfError("", since[id(each)]) if since.get(id(each)) else each
            for each in read
        ]

    @property
    def understood(self) -> list[Understood]:
        """The changes that can be."""
        return [each for each in self.found if isinstance(each, Understood)]

    @property
    def problems(self) -> list[str]:
        """Why some changes can be no more, a sentence each."""
        return [str(each) for each in self.found if isinstance(each, WhatIfError)]

    def compared(self) -> Comparison:
        """Return the plan as it is beside the plan as it would be."""
        return compare(self.real, self.understood)

    def take(self, kind: str, entry: Mapping[str, str]) -> None:
        """Put a change among those that wait, or raise what is wrong with it.

        It takes the place of one that is about the same: of two only the last counts.
        """
        waiting = self.waiting
        place = self._place_of(kind, entry)
        if place >= MOST_CHANGES:
            raise WhatIfError(
                "",
                _("{most_changes} changes wait. Undo some first.").format(
                    most_changes=MOST_CHANGES
                ),
            )
        around = self.around
        for each in self.found[:place]:
            if isinstance(each, Understood):
                kitchen = each.change.applied(around.kitchen)
                around = replace(around, kitchen=kitchen)
        understood = understand(kind, entry, around)
        seen = tried_against(understood, around) | row_as_tried(understood)
        waiting[place : place + 1] = [(kind, {**entry, **seen})]
        self.wait(waiting)

    def _place_of(self, kind: str, entry: Mapping[str, str]) -> int:
        """Return where a change belongs: in the place of one like it, or at the end."""
        waiting = self.waiting
        alike = (
            place
            for place, (known, other) in enumerate(waiting)
            if known == kind and is_of_same(kind, entry, other)
        )
        return next(alike, len(waiting))

    def wait(self, waiting: Waiting) -> None:
        """Let these changes wait, and no others."""
        self._request.session[SESSION_KEY] = waiting


def _due(entry: Mapping[str, str]) -> date | None:
    try:
        found = BAKE_PLAN.column("due").read(entry.get("due", ""))
    except CellError:
        return None
    return found if isinstance(found, date) else None
