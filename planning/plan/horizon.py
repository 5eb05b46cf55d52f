"""How far a plan looks when nobody says how far."""

from datetime import date

from planning.engine.par_days import days_to_par_weekday
from stock.models import Bakery

# Further ahead nobody orders ingredients; the engine's arrays grow with every day.
LONGEST_PLAN_DAYS = 366


def usual_days(bakery: Bakery, from_on: date) -> int:
    """Return the days of a plan from a day on: the horizon, on to the next par day."""
    weekdays = frozenset(bakery.par_weekdays)
    days = days_to_par_weekday(from_on, bakery.horizon_days, weekdays)
    return min(days, LONGEST_PLAN_DAYS)
