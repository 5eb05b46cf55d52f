"""What holding refuses, each with a sentence that says what to do."""

from stock.errors import StockError


class HoldError(StockError):
    """The base of everything that holding refuses."""


class NoReasonError(HoldError):
    """A hold without a reason, or with one that is too long."""

    def __init__(self, most: int) -> None:
        super().__init__(f"Say why it is on hold, in {most} letters at most.")


class HeldAlreadyError(HoldError):
    """Somebody holds the lot already, for another reason."""

    def __init__(self, lot_words: str, reason: str, who: str) -> None:
        by = f" by {who}" if who else ""
        super().__init__(
            f"{lot_words} is on hold already{by}: {reason}. Release it first to give "
            "another reason."
        )
        self.reason = reason


class NotOnHoldError(HoldError):
    """A lot to release that is not on hold."""

    def __init__(self, lot_words: str) -> None:
        super().__init__(f"{lot_words} is not on hold.")
