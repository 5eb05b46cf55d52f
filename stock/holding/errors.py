"""What holding refuses, each with a sentence that says what to do."""

from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.wording.names import capitalized


class HoldError(StockError):
    """The base of everything that holding refuses."""


class NoReasonError(HoldError):
    """A hold without a reason, or with one that is too long."""

    def __init__(self, most: int) -> None:
        super().__init__(
            _("Say why it is on hold, in {most} letters at most.").format(most=most)
        )


class HeldAlreadyError(HoldError):
    """Somebody holds the lot already, for another reason."""

    def __init__(self, lot_words: str, reason: str, who: str) -> None:
        sentence = (
            _(
                "{lot} is on hold already by {who}: {reason}. Release it first to "
                "give another reason."
            )
            if who
            else _(
                "{lot} is on hold already: {reason}. Release it first to give "
                "another reason."
            )
        )
        super().__init__(
            capitalized(sentence.format(lot=lot_words, who=who, reason=reason))
        )
        self.reason = reason


class NotOnHoldError(HoldError):
    """A lot to release that is not on hold."""

    def __init__(self, lot_words: str) -> None:
        super().__init__(capitalized(_("{lot} is not on hold.").format(lot=lot_words)))
