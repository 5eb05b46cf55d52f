"""The sheets of a kitchen workbook that belong to the stock app.

The one definition of their columns: files, jobs and pages read it from here.
"""

from decimal import Decimal

from django.utils.translation import gettext_noop

from stock.calendar.calendars import WEEKDAYS
from stock.entry.calendar_cells import (
    Clock,
    CutOffDaysText,
    Day,
    Days,
    TimeZone,
    Weekdays,
)
from stock.entry.cells import (
    BarCode,
    Choice,
    Email,
    FoodNumber,
    Name,
    Number,
    Quantity,
    Text,
    WholeNumber,
    Words,
    YesNo,
)
from stock.entry.entries import Column, Sheet
from stock.entry.measure_cells import Length, Ratio
from stock.entry.money_cells import MONEY, PRICE, Currency, PriceBreaks
from stock.measures.units import Measure
from stock.models import Bakery, Item, Pack, Substitute
from stock.models.suppliers import Supplier

SAME_DAY, NEXT_DAY = "same day", "next day"
RETIRED = gettext_noop("Hidden from lists; nothing new is bought.")
MOST_DAYS = 36_500  # a hundred years; more is a slip of the finger


def _field(model: type, name: str) -> str:
    return str(model._meta.get_field(name).help_text)  # type: ignore[attr-defined]


SETTING_COLUMNS = (
    Column("bakery", Name(), required=True, label=gettext_noop("Bakery")),
    Column(
        "time_zone",
        TimeZone(max_length=64),
        required=True,
        help=_field(Bakery, "time_zone"),
    ),
    Column("currency", Currency(), required=True, help=_field(Bakery, "currency")),
    Column("week_starts", Choice(WEEKDAYS), required=True),
    Column("par_days", Weekdays(), default="", help=_field(Bakery, "par_days")),
    Column("closed_days", Weekdays(), default="", help=_field(Bakery, "closed_days")),
    Column("closed_on", Days(), default="", help=_field(Bakery, "closed_on")),
    Column(
        "horizon_days",
        WholeNumber(least=1, most=366),
        default=14,
        label=gettext_noop("Days a plan looks ahead"),
    ),
    Column(
        "layer_height", Length(), default="1.5 in", help=_field(Bakery, "layer_height")
    ),
    Column("address", Text(max_length=400), default="", help=_field(Bakery, "address")),
    Column("phone", Name(max_length=40), default=""),
    Column(
        "delivery_note",
        Text(max_length=400),
        default="",
        help=_field(Bakery, "delivery_note"),
    ),
    Column(
        "leftover_worth",
        Number(most=Decimal(1), places=3, example="0.9"),
        default=Decimal("0.9"),
        label=gettext_noop("Worth of leftovers"),
        help=_field(Bakery, "leftover_worth"),
    ),
)

SETTINGS = Sheet(
    "Settings",
    (
        Column(
            "setting",
            Choice(tuple(column.name for column in SETTING_COLUMNS)),
            is_key=True,
        ),
        Column("value", Text(max_length=4000), default=""),
    ),
    noun=gettext_noop("setting"),
)

PLACES = Sheet(
    "Places",
    (
        Column("place", Name(max_length=80), is_key=True),
        Column(
            "walk_order",
            WholeNumber(),
            default=0,
            help=gettext_noop("The count walks from the lowest number to the highest."),
        ),
    ),
    noun=gettext_noop("place"),
)

ITEMS = Sheet(
    "Items",
    (
        Column("item", Name(), is_key=True),
        Column(
            "kind",
            Choice(
                tuple(kind.value for kind in Item.BOUGHT_KINDS),
                tuple(str(kind.label) for kind in Item.BOUGHT_KINDS),
            ),
            default=Item.Kind.INGREDIENT.value,
        ),
        Column(
            "measure",
            Choice(
                tuple(measure.value for measure in Measure),
                tuple(f"By {each.kept_by}, in {each.base_unit}" for each in Measure),
            ),
            required=True,
            help=_field(Item, "measure"),
        ),
        Column(
            "equivalents",
            Text(max_length=2000),
            default="",
            help=_field(Item, "equivalents"),
        ),
        Column(
            "own_units",
            Text(max_length=2000),
            default="",
            help=_field(Item, "own_units"),
        ),
        Column("safety", Quantity(), default="", help=_field(Item, "safety")),
        Column("par", Quantity(), default="", help=_field(Item, "par")),
        Column(
            "keeps_days",
            WholeNumber(least=1, most=MOST_DAYS),
            label=gettext_noop("Shelf life, in days"),
            help=_field(Item, "keeps_days"),
        ),
        Column("place", Name(max_length=80), default="", help=_field(Item, "place")),
        Column(
            "walk_order",
            WholeNumber(),
            default=0,
            help=gettext_noop("Within its place: the lowest number is met first."),
        ),
        Column("allergens", Words(), default="", help=_field(Item, "allergens")),
        Column(
            "minimum_days_left",
            WholeNumber(most=MOST_DAYS),
            label=gettext_noop("Least shelf life on delivery, in days"),
            help=_field(Item, "minimum_days_left"),
        ),
        Column("cold", YesNo(), default=False, label=gettext_noop("Kept cold")),
        *(
            Column(
                f"{state}_keeps_days",
                WholeNumber(least=1, most=MOST_DAYS),
                label=f"Shelf life {state}, in days",
                help=_field(Item, f"{state}_keeps_days"),
            )
            for state in ("opened", "frozen", "thawed")
        ),
        Column("retired", YesNo(), default=False, help=_field(Item, "retired")),
        Column(
            "weights_from",
            FoodNumber(),
            default="",
            label=gettext_noop("Published weights from"),
            help=_field(Item, "weights_from"),
        ),
    ),
    noun=gettext_noop("item"),
)

SPLITS = Sheet(
    "Splits",
    (
        Column(
            "whole",
            Name(),
            is_key=True,
            help=gettext_noop("What it is taken from: egg."),
        ),
        Column("part", Name(), is_key=True, help=gettext_noop("egg white")),
        Column(
            "yields",
            Quantity(),
            required=True,
            help=gettext_noop("From one of the whole: 33 g."),
        ),
        Column(
            "keeps_days",
            WholeNumber(least=1, most=MOST_DAYS),
            default=1,
            label=gettext_noop("Shelf life, in days"),
        ),
    ),
    noun=gettext_noop("part"),
)

SUPPLIERS = Sheet(
    "Suppliers",
    (
        Column("supplier", Name(), is_key=True),
        Column(
            "kind",
            Choice(tuple(Supplier.Kind.values), tuple(map(str, Supplier.Kind.labels))),
            default=Supplier.Kind.DELIVERS.value,
        ),
        Column(
            "contact",
            Name(),
            default="",
            label=gettext_noop("Contact there"),
            help=_field(Supplier, "contact"),
        ),
        Column(
            "account",
            Name(max_length=60),
            default="",
            label=gettext_noop("Account number"),
            help=_field(Supplier, "account"),
        ),
        Column("email", Email(), default="", label=gettext_noop("Mail address")),
        Column("phone", Name(max_length=40), default=""),
        Column(
            "delivery_days",
            Weekdays(),
            required=True,
            help=gettext_noop("Weekdays: Tue Fri. A shop's: its open days."),
        ),
        Column(
            "cutoff_days",
            CutOffDaysText(max_length=100),
            default="",  # only a shop's; see `stock.suppliers.suppliers`
            label=gettext_noop("Cut-off, days before"),
            help=_field(Supplier, "cutoff_days"),
        ),
        Column(
            "cutoff_time",
            Clock(),
            label=gettext_noop("Cut-off time"),
            help=_field(Supplier, "cutoff_time"),
        ),
        Column(
            "usable",
            Choice((SAME_DAY, NEXT_DAY)),
            help=gettext_noop(
                "Blank: the next day; what comes from a shop, the same day."
            ),
        ),
        Column("minimum_order", MONEY, default=Decimal(0)),
        Column(
            "delivery_fee",
            MONEY,
            default=Decimal(0),
            help=gettext_noop("A shop's: what a trip costs."),
        ),
        Column("free_delivery_from", MONEY, help=gettext_noop("Blank: never free.")),
        Column("closed_on", Days(), default="", help=_field(Supplier, "closed_on")),
        Column("retired", YesNo(), default=False, help=RETIRED),
    ),
    noun=gettext_noop("supplier"),
)

PACKS = Sheet(
    "Packs",
    (
        Column("supplier", Name(), is_key=True),
        Column("item", Name(), is_key=True),
        Column(
            "pack",
            Name(),
            is_key=True,
            help=gettext_noop("As the supplier writes it: case 36 x 1 lb."),
        ),
        Column(
            "called",
            Name(max_length=40),
            default="",
            help=gettext_noop("The word used when counting: case."),
        ),
        Column(
            "code", Text(max_length=60), default="", label=gettext_noop("Supplier code")
        ),
        Column(
            "holds", Quantity(), required=True, help=gettext_noop("A quantity: 36 lb.")
        ),
        Column("price", PRICE, required=True, label=gettext_noop("Price of one pack")),
        Column("minimum_packs", WholeNumber(least=1), default=1),
        Column("multiple", WholeNumber(least=1), default=1),
        Column(
            "price_breaks",
            PriceBreaks(),
            default="",
            help=gettext_noop(
                "From how many packs all of them cost what: 10: 92.50; 20: 90."
            ),
        ),
        Column("preferred", YesNo(), default=False),
        Column("gtin", BarCode(), default="", label=gettext_noop("Bar code")),
        Column(
            "next_price",
            PRICE,
            help=gettext_noop("What one pack will cost, without breaks."),
        ),
        Column("next_price_from", Day(), help=_field(Pack, "next_price_from")),
        Column("retired", YesNo(), default=False, help=RETIRED),
    ),
    noun=gettext_noop("pack"),
)

SUBSTITUTES = Sheet(
    "Substitutes",
    (
        Column("item", Name(), is_key=True, help=_field(Substitute, "item")),
        Column(
            "substitute",
            Name(),
            is_key=True,
            help=_field(Substitute, "substitute"),
        ),
        Column(
            "ratio",
            Ratio(),
            default="",
            help=gettext_noop(
                "So much of it for so much of the item: 3/4 cup for 1 cup."
            ),
        ),
        Column("source", Text(), default="", help=_field(Substitute, "source")),
        Column("note", Text(), default="", help=_field(Substitute, "note")),
    ),
    noun=gettext_noop("substitute"),
)

STOCK_SHEETS = (SETTINGS, PLACES, ITEMS, SPLITS, SUPPLIERS, PACKS)
