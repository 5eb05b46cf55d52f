"""The kinds of changes that can be tried, each with the columns that people fill in."""

from django.utils.translation import gettext_noop

from planning.entry.sheets import BAKE_PLAN
from stock.entry.calendar_cells import Day
from stock.entry.cells import Name, Quantity, Text
from stock.entry.entries import Column, Sheet
from stock.saving.sheets import PACKS

_REFERENCE = Column(
    "reference", Name(max_length=40), required=True, label=gettext_noop("Cake")
)
_DAY = Column("day", Day(), required=True)
# Kept with a move, never typed: the day on which the cake was due when it was tried.
WAS_DUE = Column("was_due", Day())
# Kept with a change of a stored row, never typed: the row as it was when it was tried.
SEEN = Column("seen", Text(max_length=10_000))
NEVER_TYPED = (WAS_DUE.name, SEEN.name)

# What a change is about: a second one about the same takes the place of the first.
SUBJECTS = {
    "add-cake": ("reference",),
    "drop-cake": ("reference",),
    "move-cake": ("reference",),
    "on-hand": ("item",),
    "close-day": ("day",),
    "skip-delivery": ("supplier", "day"),
    "price": ("supplier", "item", "pack"),
}

KINDS = {
    "add-cake": Sheet(
        gettext_noop("Add a cake"),
        (
            BAKE_PLAN.column("reference"),
            BAKE_PLAN.column("cake"),
            BAKE_PLAN.column("due"),
            BAKE_PLAN.column("quantity"),
            BAKE_PLAN.column("size"),
        ),
    ),
    "drop-cake": Sheet(gettext_noop("Cancel a cake"), (_REFERENCE, SEEN)),
    "move-cake": Sheet(
        gettext_noop("Move a cake"),
        (_REFERENCE, BAKE_PLAN.column("due"), WAS_DUE, SEEN),
    ),
    "on-hand": Sheet(
        gettext_noop("Have another quantity on hand"),
        (
            Column("item", Name(), required=True),
            Column(
                "amount",
                Quantity(),
                required=True,
                label=gettext_noop("Quantity"),
                help=gettext_noop("3 1/2 lb, or none."),
            ),
        ),
    ),
    "close-day": Sheet(gettext_noop("Close a day"), (_DAY,)),
    "skip-delivery": Sheet(
        gettext_noop("Cancel a delivery"),
        (Column("supplier", Name(), required=True), _DAY),
    ),
    "price": Sheet(
        gettext_noop("Pay another price"),
        (
            PACKS.column("supplier"),
            PACKS.column("item"),
            Column(
                "pack",
                Name(),
                help=gettext_noop("Blank where it sells only one of the item."),
            ),
            PACKS.column("price"),
            SEEN,
        ),
    ),
}
