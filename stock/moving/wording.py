"""What is said of a move, by pages and commands alike."""

from django.utils.translation import gettext as _

from stock.measures.conversion import Converter
from stock.models import Move
from stock.wasting.wording import amount_of_item


def move_words(move: Move, converter: Converter) -> str:
    """Return what was moved, from where and to where. Both places are read.

    2 lb of butter moved from walk-in to freezer.
    """
    what = amount_of_item(move.amount_base, converter)
    return _("{what} moved from {name} to {name2}").format(
        what=what, name=move.from_place.name, name2=move.to_place.name
    )
