"""What wasting refuses, each with a sentence that says what to do."""

from collections.abc import Iterable
from decimal import Decimal

from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.wording.names import capitalized


class WasteError(StockError):
    """The base of everything that wasting refuses."""


class NothingWastedError(WasteError):
    """No quantity, none, or less than nothing."""

    def __init__(self, item_name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name}: enter how much is wasted, more than nothing.each."
                ).format(item_name=item_name)
            )
        )
        self.item_name = item_name


class UnknownReasonError(WasteError):
    """A reason that is none of those that are kept."""

    def __init__(self, reason: str, known: Iterable[str]) -> None:
        said = _('"{reason}" isn\'t a reason. ').format(reason=reason) if reason else ""
        super().__init__(
            _("{said}Choose why: {known}.").format(said=said, known=", ".join(known))
        )
        self.reason = reason


class MoreThanOnRecordError(WasteError):
    """More is said to be wasted than the record has there."""

    def __init__(
        self, item_name: str, where: str, *, said: str, on_hand: str, left_base: Decimal
    ) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name}: {on_hand} on record in {where}, less than {said}. "
                    "Waste what is on record, or say that it was more."
                ).format(item_name=item_name, on_hand=on_hand, where=where, said=said)
            )
        )
        self.item_name = item_name
        self.said, self.on_hand = said, on_hand  # in words
        self.left_base = left_base


class WastedAlreadyError(WasteError):
    """The same key came with something else: nobody knows which is meant."""

    def __init__(self, waste_words: str) -> None:
        super().__init__(
            _(
                "This form has recorded already: {waste}. Send it again if this is "
                "meant too."
            ).format(waste=waste_words)
        )


class SetSinceWasteError(WasteError):
    """Somebody has said since what is there, so that nothing can be put back."""

    def __init__(self, item_name: str, place_name: str, what: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name} in {place_name} was {what}, so this waste cannot be "
                    "undone. Set what is there now."
                ).format(item_name=item_name, place_name=place_name, what=what)
            )
        )
        self.item_name = item_name
        self.place_name = place_name
