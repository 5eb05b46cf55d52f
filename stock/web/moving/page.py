"""Moves: which item goes elsewhere, and what was moved last?"""

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.conversion import converters
from stock.errors import StockError
from stock.models import Balance, Item, Move
from stock.moving.errors import MoveNotUndoneError
from stock.moving.moving import in_the_way, undo_move
from stock.moving.wording import move_words
from stock.templatetags.words import moment_words
from stock.wasting.quantities import place_on_hand_base
from stock.wasting.wording import amount_of_item, held_words, left_words
from stock.web.amounts import kept_together
from stock.web.request.row_ids import sent_id
from stock.web.shelves.taking import found_items
from stock.wording.names import person_name

MOST_LATELY = 6  # items that a tap chooses
MOST_LOOKED_AT = 50  # moves, for the items that are moved again and again
MOST_SHOWN = 3  # of what was moved last; the rest stands in the history


@dataclass(frozen=True, slots=True)
class MovedRow:
    """What was moved, in a sentence, and why it cannot be undone, if so."""

    row: Move
    words: str
    when: str
    who: str
    in_the_way: str


def moves_page(request: HttpRequest) -> HttpResponse:
    """Show what has just been moved, and the items to choose from."""
    rows = Move.objects.filter(undone_at=None).select_related(
        "item", "from_place", "to_place", "by"
    )
    done_id = sent_id(request.GET.get("done"))
    latest = list(rows[:MOST_LOOKED_AT])
    items = {row.item_id: row.item for row in latest if not row.item.retired}
    stands = Balance.objects.filter(item=OuterRef("pk"), amount_base__gt=0)
    there = Item.objects.filter(Exists(stands), retired=False).order_by("name")
    context = {
        "done": _done(rows.filter(pk=done_id).first() if done_id else None),
        "lately": list(items.values())[:MOST_LATELY],
        "moved": _moved(latest[:MOST_SHOWN], timezone.localdate()),
        **found_items(list(there), request.GET.get("words", "")),
    }
    return render(request, "stock/moves.html", context)


@require_POST
def undo_move_page(request: HttpRequest, move_id: int) -> HttpResponse:
    """Bring back what was moved, and go back to the page."""
    try:
        row = undo_move(move_id, by_id=request.user.pk)
    except Move.DoesNotExist:
        messages.error(request, _("This move is not here any more. Look again."))
    except StockError as error:
        messages.error(request, str(error))
    else:
        converter = converters.converters_for([row.item_id])[row.item_id]
        what = kept_together(amount_of_item(row.amount_base, converter))
        messages.success(
            request,
            _("Undone: {what} back in {name}.").format(
                what=what, name=row.from_place.name
            ),
        )
    return redirect("stock:moves")


def _done(row: Move | None) -> dict[str, object] | None:
    """Return what has just been recorded, as long as it stands."""
    if row is None:
        return None
    converter = converters.converters_for([row.item_id])[row.item_id]
    left = left_words(place_on_hand_base(row.item_id, row.from_place_id), converter)
    words = f"{move_words(row, converter)}; {left}.{held_words(row.lot_id)}"
    return {
        "move": row,
        "words": kept_together(words),
        "in_the_way": in_the_way_words(row),
    }


def _moved(rows: list[Move], today: date) -> list[MovedRow]:
    known = converters.converters_for({row.item_id for row in rows}) if rows else {}
    return [
        MovedRow(
            row=row,
            words=kept_together(move_words(row, known[row.item_id])),
            when=moment_words(row.at, today),
            who=person_name(row.by),
            in_the_way=in_the_way_words(row),
        )
        for row in rows
    ]


def in_the_way_words(row: Move) -> str:
    """Return why a move cannot be undone; "" where it can. Nine queries."""
    what = in_the_way(row)
    return str(MoveNotUndoneError(row.item.name, *what)) if what else ""
