"""The sheets of a kitchen workbook that belong to the planning app, and all of them.

The one definition of their columns: files, jobs and pages read it from here.
"""

from decimal import Decimal

from django.utils.translation import gettext_noop

from planning.entry.cells import Size
from planning.models import PlannedCake, Recipe, RecipeLine
from planning.models.bakeplan import LONGEST_REFERENCE
from stock.entry.calendar_cells import Clock, Day
from stock.entry.cells import Choice, Name, Number, Quantity, Text, WholeNumber, YesNo
from stock.entry.entries import Column, Sheet
from stock.saving.sheets import MOST_DAYS, STOCK_SHEETS, SUBSTITUTES

HUNDRED = Decimal(100)
CAPS = str(Recipe._meta.get_field("caps_use_by").help_text)
FIXED = "cake"  # what a blank scales_with means

RECIPES = Sheet(
    "Recipes",
    (
        Column("recipe", Name(), is_key=True),
        Column(
            "yields",
            Quantity(),
            required=True,
            help=gettext_noop("One batch: 2.4 kg, or 1 each."),
        ),
        Column(
            "batch_step",
            Number(most=Decimal("999.999"), places=3, example="0.5"),
            default=Decimal(0),
            help=gettext_noop("0: any quantity. 0.5: half batches. 1: whole batches."),
        ),
        Column(
            "largest_batch",
            Number(most=Decimal("999999.999"), places=3, above_least=True, example="2"),
            help=gettext_noop("What one mix can be, in batches."),
        ),
        Column(
            "loss_percent",
            Number(most=HUNDRED, below_most=True, places=3, example="2.5"),
            default=Decimal(0),
            label=gettext_noop("Loss, %"),
            help=gettext_noop("Left in the bowl and on trimmings."),
        ),
        Column(
            "lead_days",
            WholeNumber(most=MOST_DAYS),
            default=0,
            label=gettext_noop("Made ahead, in days"),
            help=gettext_noop("Calendar days before it is needed that it is made."),
        ),
        Column(
            "keeps_days",
            WholeNumber(least=1, most=MOST_DAYS),
            label=gettext_noop("Shelf life, in days"),
        ),
        Column("is_cake", YesNo(), default=False, label=gettext_noop("A cake")),
        Column(
            "base_size",
            Size(),
            default="",
            help=gettext_noop("Of a cake: 8 in round x 3."),
        ),
        Column(
            "holding",
            Choice((Recipe.Holding.COLD.value,)),
            default="",
            help=gettext_noop("cold, or blank"),
        ),
        Column(
            "caps_use_by",
            YesNo(),
            default=False,
            label=gettext_noop("Unbaked: caps its use-by"),
            help=CAPS,
        ),
        Column(
            "retired", YesNo(), default=False, help=gettext_noop("Hidden from lists.")
        ),
    ),
    noun=gettext_noop("recipe"),
)

RECIPE_LINES = Sheet(
    "Recipe lines",
    (
        Column("recipe", Name(), is_key=True),
        Column(
            "component",
            Name(),
            is_key=True,
            help=gettext_noop("An item, a part or a recipe."),
        ),
        Column(
            "quantity",
            Quantity(),
            required=True,
            help=gettext_noop("For one batch, edible."),
        ),
        Column(
            "yield_percent",
            Number(most=HUNDRED, above_least=True, places=4, example="87.5"),
            default=HUNDRED,
            label=gettext_noop("Edible yield, %"),
            help=gettext_noop("Edible out of as purchased."),
        ),
        Column(
            "scales_with",
            Choice(
                (
                    *(value for value in RecipeLine.ScalesWith.values if value),
                    FIXED,
                )
            ),
            default="",
            help=gettext_noop("Only in a cake's lines; blank means the cake."),
        ),
    ),
    noun=gettext_noop("line"),
)

BAKE_PLAN = Sheet(
    "Bake plan",
    (
        Column("reference", Name(max_length=LONGEST_REFERENCE), is_key=True),
        Column("due", Day(), required=True),
        Column("due_time", Clock()),
        Column("cake", Name(), required=True),
        Column(
            "size",
            Size(),
            default="",
            help=gettext_noop(
                "6 in round x 3 + 8 in round x 3. Blank: the recipe's base size."
            ),
        ),
        Column("quantity", WholeNumber(least=1), required=True),
        Column(
            "status",
            Choice(
                tuple(PlannedCake.Status.values),
                tuple(map(str, PlannedCake.Status.labels)),
            ),
            default=PlannedCake.Status.CONFIRMED.value,
        ),
        Column("note", Text(max_length=300), default=""),
    ),
    noun=gettext_noop("cake"),
)

STOCK = Sheet(
    "Stock",
    (
        Column(
            "item",
            Name(),
            is_key=True,
            help=gettext_noop("Or a part, or what is made here."),
        ),
        Column("quantity", Quantity(), required=True),
        Column(
            "place",
            Name(max_length=80),
            is_key=True,
            key_may_be_blank=True,
            default="",
        ),
        # Any year that is stored comes back; `keep_on_hand` refuses others.
        Column("use_by", Day(any_year=True), is_key=True, key_may_be_blank=True),
        Column(
            "lot", Name(), default="", help=gettext_noop("Where a difference goes.")
        ),
    ),
    noun=gettext_noop("stock"),
)

OPEN_ORDERS = Sheet(
    "Open orders",
    (
        Column("order", Name(max_length=60), is_key=True),
        Column("supplier", Name(), required=True),
        Column("item", Name(), is_key=True),
        Column("pack", Name(), is_key=True),
        Column("packs", WholeNumber(least=1), required=True),
        Column("due", Day(), required=True),
        Column("received_packs", WholeNumber(), default=0),
    ),
    noun=gettext_noop("order line"),
)

SHEETS = (
    *STOCK_SHEETS,
    RECIPES,
    RECIPE_LINES,
    BAKE_PLAN,
    STOCK,
    OPEN_ORDERS,
    SUBSTITUTES,
)
