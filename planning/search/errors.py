"""What a search for best orders refuses, each with a sentence to act on."""

from django.utils.translation import gettext as _

from planning.errors import PlanningError


class SearchRunningError(PlanningError):
    """A second search for better orders, while one is running."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Best orders are being looked for already. Stop that search first, or "
                "wait for what it finds."
            )
        )


class SearchMovedOnError(PlanningError):
    """Somebody else has looked for orders since this page was opened."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Somebody has looked for other orders since you opened this page. "
                "Nothing was replaced, and what you asked for is kept here: look again "
                "to go on."
            )
        )


class NoSuchSearchError(PlanningError):
    """A search that was there when its page was opened and is no more."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "This search is no longer there: somebody has started another. Nothing "
                "was done; see what that one finds."
            )
        )


class SearchOutOfDateError(PlanningError):
    """Found orders that belong to a day that is over, or to a kitchen as it was."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Since these orders were found a new day has begun or the kitchen has "
                "changed, so they were not drafted. Find best orders again."
            )
        )
