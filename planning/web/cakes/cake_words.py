"""What the bake plan's pages say of times, sizes and batches."""

from datetime import time

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.demand import geometry
from planning.engine.kitchen import Window
from planning.engine.plan import Making
from planning.errors import SizeError
from planning.models import PlannedCake
from planning.plan.horizon import usual_days
from planning.web.recipes.recipe_words import as_typed_words
from planning.wording.batch_words import batches_words, number_words
from planning.wording.size_words import factors_words, tiers_words
from stock.calendar.calendar_words import clock_words
from stock.models import Bakery


def due_time_words(at: time | None) -> str:
    """Return a time of day: 9:30 am; blank where none is set."""
    return "" if at is None else clock_words(at)


def size_of(planned: PlannedCake) -> str:
    """Return the size a cake is made in: its own, or its recipe's base size."""
    return planned.size or planned.cake.base_size


def understood(size: str, base_size: str, layer_height_cm: float) -> str:
    """Return a typed size as it was understood; raise a SizeError if it was not."""
    if not size.strip():
        if not base_size:
            return _("Blank: the recipe's base size.")
        return _("Blank: the recipe's base size, {tiers}.").format(
            tiers=_tiers(base_size)
        )
    tiers = _tiers(size)
    if not base_size:
        return f"{tiers}."
    if geometry.are_one_size(size, base_size):
        return _("{tiers}: the recipe's base size.").format(tiers=tiers)
    factors = factors_words(size, base_size, layer_height_cm)
    return _(
        "{tiers}. That is {factors} of the recipe's base size, {base_size}."
    ).format(tiers=tiers, factors=factors, base_size=base_size)


def understood_or_why(
    size: str, base_size: str, layer_height_cm: float
) -> tuple[str, bool]:
    """Return a size as it was understood, or why not; and whether it was."""
    try:
        return understood(size, base_size, layer_height_cm), True
    except SizeError as error:
        return str(error), False


def making_words(made: Making, unit: str, yields: str) -> str:
    """Return how much is made: 2 batches, 9 lb; without a yield, how many cakes."""
    if not yields:
        cakes = ngettext(
            "{number} cake", "{number} cakes", 1 if made.batches <= 1 else 2
        )
        return cakes.format(number=number_words(made.batches))
    amount = as_typed_words(made.amount_base, unit, [yields])
    return f"{batches_words(made.batches, made.mixes)}: {amount}"


def ahead_query(window: Window, bakery: Bakery) -> str:
    """Return what an item's page takes to look as far ahead; usually nothing."""
    return (
        ""
        if window.days == usual_days(bakery, window.from_on)
        else f"?days={window.days}"
    )


def _tiers(size: str) -> str:
    return " + ".join(tiers_words(size))
