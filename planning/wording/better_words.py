"""How orders that somebody looked for stand to those of the usual rule, in words.

And how far the search for them has come.
"""

from decimal import ROUND_CEILING, Decimal
from math import isfinite

from planning.engine.plan import Proof, Purchasing
from planning.plan.planner import Planned
from stock.wording.money_words import money_words

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
# A bound below this share is said as being the best: 4 cents of $1,000.
AS_GOOD_AS_BEST = 0.00005
STAGE_WORDS = {
    "": "starting",
    "reading": "reading the kitchen",
    "usual rule": "starting from the usual rule's orders",
    "first orders": "trying first orders of its own",
    "pricing": "working out what each item could do",
    "diving": "deciding which deliveries pay off",
    "choosing": "choosing among what was found",
    "proving": "proving how close to the best it is",
    "whole": "looking at everything at once",
    "reasons": "writing down the reasons",
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
    money = "the same money as the usual rule"
    if spared:
        less = "less" if spared > 0 else "more"
        money = f"{money_words(abs(spared), currency)} {less} than the usual rule"
    return f"{money}, {deliveries_words(fewer)}" if fewer else money


def deliveries_words(fewer: int) -> str:
    """Return a difference in deliveries: two deliveries fewer, one delivery more."""
    count = abs(fewer)
    number = NUMBERS[count] if count < len(NUMBERS) else str(count)
    deliveries = "delivery" if count == 1 else "deliveries"
    return f"{number} {deliveries} {'fewer' if fewer > 0 else 'more'}"


def proof_words(proof: Proof) -> str:
    """Return how close to the best some orders are known to be, rounded up."""
    if not isfinite(proof.gap):
        return "how close to the best possible is not known yet"
    if proof.gap <= AS_GOOD_AS_BEST:
        return "no better ones are possible"
    return f"at most {percent_words(proof.gap)} above the best possible"


def stage_words(stage: str) -> str:
    """Return what a search does at a stage: working out what each item could do."""
    return STAGE_WORDS.get(stage, stage)


def percent_words(gap: float) -> str:
    """Return a finite gap in percent, rounded up: 1.3 %."""
    if gap <= AS_GOOD_AS_BEST:
        return "0 %"
    percent = Decimal(repr(gap)) * 100  # as it is written, without float noise
    step = Decimal("0.01") if percent < 1 else Decimal("0.1")
    return f"{percent.quantize(step, ROUND_CEILING).normalize():f} %"
