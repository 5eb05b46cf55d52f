from datetime import date

import pytest

from planning.plan.horizon import usual_days
from stock.models import Bakery

SAT = date(2026, 11, 28)


@pytest.mark.parametrize(
    ("bakery", "days"),
    [
        (Bakery(horizon_days=14), 16),  # up to Sun Dec 13
        (Bakery(horizon_days=16), 16),  # ends on a par day: it stays
        (Bakery(horizon_days=17), 23),
        (Bakery(horizon_days=14, week_starts="Sat"), 14),  # weeks end on Fridays
        (Bakery(horizon_days=14, par_days="Tue Sat"), 15),
        (Bakery(horizon_days=366), 366),  # no plan looks further
    ],
)
def test_a_plan_looks_on_to_the_next_par_day(bakery, days):
    assert usual_days(bakery, SAT) == days
