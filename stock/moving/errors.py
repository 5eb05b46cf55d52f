"""What moving refuses, each with a sentence that says what to do."""

from decimal import Decimal

from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.wording.names import capitalized


class MoveError(StockError):
    """The base of everything that moving refuses."""


class NothingMovedError(MoveError):
    """No quantity, none, or less than nothing."""

    def __init__(self, item_name: str) -> None:
        super().__init__(
            capitalized(
                _("{item_name}: enter how much is moved, more than nothing.").format(
                    item_name=item_name
                )
            )
        )
        self.item_name = item_name


class SamePlaceError(MoveError):
    """From a place to the same place."""

    def __init__(self, item_name: str, place_name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name} is in {place_name} already. Choose another place to "
                    "move to."
                ).format(item_name=item_name, place_name=place_name)
            )
        )


class RetiredItemError(MoveError):
    """What is retired is moved no more."""

    def __init__(self, item_name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name} is retired. Bring it back on its page before you "
                    "move it."
                ).format(item_name=item_name)
            )
        )


class MoreThanThereError(MoveError):
    """More is said to be moved than the record has there."""

    def __init__(
        self, item_name: str, where: str, *, said: str, on_hand: str, left_base: Decimal
    ) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name}: {on_hand} on record in {where}, less than {said}. "
                    "Move what is on record, or set what is there first."
                ).format(item_name=item_name, on_hand=on_hand, where=where, said=said)
            )
        )
        self.item_name = item_name
        self.left_base = left_base


class MovedAlreadyError(MoveError):
    """The same key came with something else: nobody knows which is meant."""

    def __init__(self, move_words: str) -> None:
        super().__init__(
            _(
                "This form has recorded already: {move}. Send it again if this is "
                "meant too."
            ).format(move=move_words)
        )


class MoveNotUndoneError(MoveError):
    """What stands in the way of moving it back."""

    def __init__(self, item_name: str, place_name: str, what: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name} in {place_name} was {what}, so this move cannot be "
                    "undone. Move what is there, or set what is there now."
                ).format(item_name=item_name, place_name=place_name, what=what)
            )
        )
        self.item_name = item_name
        self.place_name = place_name
