"""What the recipe pages say of batches, keeping times and weights."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.models import Recipe, RecipeLine
from planning.recipes.batch_weight import BatchWeight
from planning.sentences.words import days_words
from stock.errors import MeasureError
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.sayings import CUSTOMARY_WORDS
from stock.measures.units import Measure
from stock.measures.wording import System, say_short

# Of a thing without words of its own, by its base unit.
PLAIN_CONVERTERS = {
    measure.base_unit: compile_converter(read_item_measures("it", measure))
    for measure in Measure
}

# What a cake's line is multiplied by, when another size is planned.
SCALES_WITH = {
    **dict(RecipeLine.ScalesWith.choices),
    RecipeLine.ScalesWith.CAKE.value: gettext_lazy("nothing: it stays the same"),
}


def keeps_words(keeps_days: int | None) -> str:
    """Return how long something keeps, the first day included.

    >>> keeps_words(1), keeps_words(None)
    ('1 day', 'no limit entered')
    """
    return _("no limit entered") if keeps_days is None else days_words(keeps_days)


def step_words(batch_step: Decimal) -> str:
    """Return in which steps it is mixed.

    >>> step_words(Decimal("0")), step_words(Decimal("0.500")), step_words(Decimal(2))
    ('any part of a batch', 'half batches', 'steps of 2 batches')
    """
    known = {
        Decimal(0): _("any part of a batch"),
        Decimal("0.25"): _("quarter batches"),
        Decimal("0.5"): _("half batches"),
        Decimal(1): _("whole batches"),
    }
    return known.get(batch_step, f"steps of {figure(batch_step)} batches")


def figure(number: Decimal) -> str:
    """Return a figure without noughts behind it.

    >>> figure(Decimal("2.500")), figure(Decimal("20.000"))
    ('2.5', '20')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def as_typed_words(
    amount_base: Fraction | float, base_unit: str, typed: Iterable[str]
) -> str:
    """Return an amount in pounds or cups where typed quantities speak so, else metric.

    >>> as_typed_words(1134, "g", ["5 lb"]), as_typed_words(1134, "g", ["2.4 kg"])
    ('2 1/2 lb', '1.13 kg')
    """
    speaks = any(_is_customary(text) for text in typed)
    prefer = System.CUSTOMARY if speaks else System.METRIC
    return say_short(Fraction(amount_base), PLAIN_CONVERTERS[base_unit], prefer=prefer)


def against_yield(weight: BatchWeight, recipe: Recipe) -> tuple[str, bool]:
    """Return how a batch's weight compares with its yield; and if it looks wrong.

    Blank where there is nothing to compare.
    """
    lost_fraction = weight.lost_fraction
    if recipe.is_cake or lost_fraction is None:
        return "", False
    percent = round(abs(lost_fraction) * 100)
    said = _("It is said to yield {yields}").format(yields=recipe.yields)
    if not percent:
        return _("{said}, which is the same.").format(said=said), False
    if lost_fraction < 0:
        return (
            _(
                "{said}, which is {percent} % more than goes in. Check the yield "
                "and the lines."
            ).format(said=said, percent=percent),
            True,
        )
    return _(
        "{said}, which is {percent} % less: what dries up or stays behind."
    ).format(said=said, percent=percent), False


def _is_customary(text: str) -> bool:
    try:
        terms = parse_quantity(text).terms
    except MeasureError:
        return False
    return any(term.unit in CUSTOMARY_WORDS for term in terms)
