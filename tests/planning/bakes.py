"""What somebody says was made, and what then stands on the shelves."""

from decimal import Decimal
from itertools import count

from planning.baking.entries import Baker, CakeEntry, MakeEntry
from planning.baking.making import bake_cake, make_recipe
from planning.baking.undoing import undo_bake
from stock.ledger.levels import lots_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery, Item
from tests.on_hand import on_hand_base_by_item

_keys = count(1)


def make(recipe, batches=1, *, key=None, by=None, on=None, **said):
    """Make batches of a recipe; the ledger is proven after it."""
    entry = MakeEntry(
        recipe.pk, Decimal(str(batches)), key or f"page {next(_keys)}", **said
    )
    bake = make_recipe(entry, baker(by=by, on=on))
    assert verify_ledger().is_whole
    return bake


def bake(planned, *, key=None, seen=None):
    """Bake a planned cake; the ledger is proven after it."""
    entry = CakeEntry(planned.pk, key or f"cake {next(_keys)}", seen)
    row = bake_cake(entry, baker())
    assert verify_ledger().is_whole
    return row


def undo(row, *, by=None):
    undone = undo_bake(row.pk, by_id=by.pk if by else None)
    assert verify_ledger().is_whole
    return undone


def baker(*, by=None, on=None):
    return Baker(Bakery.current(), by.pk if by else None, on)


def on_hand():
    """What is on hand by name; nothing is left out but what is not on record."""
    names = dict(Item.objects.values_list("pk", "name"))
    return {names[pk]: float(base) for pk, base in on_hand_base_by_item().items()}


def lots_of(item):
    """Use-by and amount of each lot, the soonest first."""
    lots = lots_on_hand(item=getattr(item, "item", item))
    return [(lot.use_by, float(lot.amount_base)) for lot in lots]
