"""What baking refuses, each with a sentence that says what to do."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from planning.errors import PlanningError
from stock.wording.names import capitalized


class BakingError(PlanningError):
    """The base of everything that baking refuses."""


class NoRecipeError(BakingError):
    """Something without a recipe is said to be made."""

    def __init__(self) -> None:
        super().__init__(_("This recipe is no longer here. Look at the list again."))


class BatchesError(BakingError):
    """No batches, less than none, or more than anybody mixes."""

    def __init__(self, name: str, most: int) -> None:
        super().__init__(
            capitalized(
                _("{name}: enter batches above 0, {most:,} at most.").format(
                    name=name, most=most
                )
            )
        )
        self.name = name


class LineAmountError(BakingError):
    """A weight that a recipe's line cannot have had."""

    def __init__(self, name: str, what: str) -> None:
        super().__init__(capitalized(f"{name}: {what}"))
        self.name = name


class MadeOnError(BakingError):
    """A day on which it cannot have been made."""


class DayCountedSinceError(BakingError):
    """A later count may have seen already what was made on an earlier day."""

    def __init__(self, name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{name} was counted since, so the count may have this already. If "
                    "it has not, enter it as of today."
                ).format(name=name)
            )
        )
        self.name = name


class NoPlaceError(BakingError):
    """There is nowhere to put what is made, or to take from."""

    def __init__(self) -> None:
        super().__init__(_("There is no place yet. Add one under Places first."))


class AskedError(BakingError):
    """Something has to be confirmed before it is recorded."""


class ManyBatchesError(AskedError):
    """Ten times what the plan asks for: a slip of the finger, or not."""

    def __init__(self, name: str, batches: str, planned: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{name}: {batches}, but {planned}. Check the number, or say that "
                    "it is so."
                ).format(name=name, batches=batches, planned=planned)
            )
        )
        self.name = name


class MadeMeanwhileError(AskedError):
    """Somebody has said that it is made since the page was opened."""

    def __init__(self, name: str, who: str, when: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{name}: {who} marked it made already, {when}. If this is another "
                    "batch, say that it is so."
                ).format(name=name, who=who, when=when)
            )
        )
        self.name = name


class BakeKeyError(BakingError):
    """The same key came with something else: nobody knows which is meant."""

    def __init__(self, what: str) -> None:
        super().__init__(
            _(
                "This form has recorded already: {what}. Open it anew for another."
            ).format(what=what)
        )


class CakeCancelledError(BakingError):
    """A cake that somebody cancelled cannot be baked."""

    def __init__(self, reference: str) -> None:
        super().__init__(
            _("{reference} is cancelled. Set it back first, then bake it.").format(
                reference=reference
            )
        )
        self.reference = reference


class BakeDependedOnError(BakingError):
    """Something happened since that an undo would make wrong."""

    def __init__(self, what: str, reasons: Sequence[str]) -> None:
        super().__init__(
            capitalized(
                _(
                    "{what} can't be undone: {reasons}. Set what is on hand on its "
                    "page instead."
                ).format(what=what, reasons="; ".join(reasons))
            )
        )
        self.reasons = tuple(reasons)
