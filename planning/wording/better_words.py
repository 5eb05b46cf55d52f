"""How orders that somebody looked for stand to those of the usual rule, in words.

And how far the search for them has come.
"""

from decimal import ROUND_CEILING, Decimal
from math import isfinite

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.engine.plan import Proof, Purchasing
from planning.plan.planner import Planned
from stock.wording.money_words import money_words

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
# A bound below this share is said as being the best: 4 cents of $1,000.
AS_GOOD_AS_BEST = 0.00005
STAGE_WORDS = {
    "": "starting",
    "reading": gettext_lazy("reading the kitchen"),
    "usual rule": gettext_lazy("starting from the usual rule's orders"),
    "first orders": gettext_lazy("trying first orders of its own"),
    "pricing": gettext_lazy("working out what each item could do"),
    "diving": gettext_lazy("deciding which deliveries pay off"),
    "choosing": gettext_lazy("choosing among what was found"),
    "proving": gettext_lazy("proving how close to the best it is"),
    "whole": gettext_lazy("looking at everything at once"),
    "reasons": gettext_lazy("writing down the reasons"),
}


def better_words(planned: Planned) -> str:
    """Return how a plan's orders stand to the usual rule's, and to the best of all.

    Without the usual rule's beside them they are the usual rule's own.
    """
    found, usual = planned.plan.purchasing, planned.usual or planned.plan.purchasing
    than_usual = _than_usual_words(found, usual, planned.bakery.currency)
    return f"{than_usual}; {proof_words(found.proof)}."


def _than_usual_words(found: Purchasing, usual: Purchasing, currency: str) -> str:
    spared = usual.total_cost - found.total_cost
    fewer = len(usual.orders) - len(found.orders)
    money = _("the same money as the usual rule")
    if spared:
        less = _("less") if spared > 0 else _("more")
        money = _("{money} {less} than the usual rule").format(
            money=money_words(abs(spared), currency), less=less
        )
    return f"{money}, {deliveries_words(fewer)}" if fewer else money


def deliveries_words(fewer: int) -> str:
    """Return a difference in deliveries: two deliveries fewer, one delivery more."""
    count = abs(fewer)
    number = NUMBERS[count] if count < len(NUMBERS) else str(count)
    deliveries = ngettext("delivery", "deliveries", count)
    return f"{number} {deliveries} {'fewer' if fewer > 0 else 'more'}"


def proof_words(proof: Proof) -> str:
    """Return how close to the best some orders are known to be, rounded up."""
    if not isfinite(proof.gap):
        return _("how close to the best possible is not known yet")
    if proof.gap <= AS_GOOD_AS_BEST:
        return _("no better ones are possible")
    return _("at most {percent} above the best possible").format(
        percent=percent_words(proof.gap)
    )


def stage_words(stage: str) -> str:
    """Return what a search does at a stage: working out what each item could do."""
    return str(STAGE_WORDS.get(stage, stage))


def percent_words(gap: float) -> str:
    """Return a finite gap in percent, rounded up: 1.3 %."""
    if gap <= AS_GOOD_AS_BEST:
        return "0 %"
    percent = Decimal(repr(gap)) * 100  # as it is written, without float noise
    step = Decimal("0.01") if percent < 1 else Decimal("0.1")
    return f"{percent.quantize(step, ROUND_CEILING).normalize():f} %"
