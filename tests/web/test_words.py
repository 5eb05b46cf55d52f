from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from stock.measures.compiling import compile_converter, read_item_measures
from stock.templatetags import words
from stock.web.amounts import Amount

TODAY = date(2025, 11, 25)  # a Tuesday
CHICAGO = ZoneInfo("America/Chicago")


@pytest.mark.parametrize(
    ("on", "said"),
    [
        (date(2025, 11, 25), "today"),
        (date(2025, 11, 26), "tomorrow"),
        (date(2025, 11, 24), "yesterday"),
        (date(2025, 11, 27), "Thursday"),
        (date(2025, 12, 1), "Monday"),
        (date(2025, 12, 2), "Tue Dec 2"),  # its own weekday would be taken for today
        (date(2025, 11, 19), "last Wednesday"),
        (date(2025, 11, 18), "Tue Nov 18"),
        (date(2026, 1, 3), "Sat Jan 3, 2026"),
        (None, "\N{EN DASH}"),
    ],
)
def test_days_near_today_are_weekday_names(on, said):
    assert words.day_words(on, TODAY) == said


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (datetime(2025, 11, 25, 14, 0, tzinfo=CHICAGO), "today 2:00 pm"),
        (datetime(2025, 11, 28, 0, 5, tzinfo=CHICAGO), "Fri 12:05 am"),
        (datetime(2025, 11, 21, 12, 30, tzinfo=CHICAGO), "last Fri 12:30 pm"),
        (datetime(2025, 12, 9, 9, 30, tzinfo=CHICAGO), "Tue Dec 9, 9:30 am"),
        # half past one at night in London is still the evening before in Chicago
        (
            datetime(2025, 11, 27, 1, 30, tzinfo=ZoneInfo("Europe/London")),
            "tomorrow 7:30 pm",
        ),
        (None, "\N{EN DASH}"),
    ],
)
def test_moments_are_told_on_the_clock_in_force(at, said):
    with timezone.override(CHICAGO):
        assert words.moment_words(at, TODAY) == said


@pytest.mark.parametrize(
    ("on", "said"),
    [
        (date(2025, 11, 19), "6 days ago"),
        (date(2025, 11, 24), "yesterday"),
        (date(2025, 11, 25), "today"),
        (date(2025, 11, 28), "in 3 days"),
        (None, "never"),
    ],
)
def test_how_long_ago(on, said):
    assert words.ago_words(on, TODAY) == said


@pytest.mark.parametrize(
    ("amount", "currency", "said"),
    [
        (Decimal("1204.5"), "USD", "$1,204.50"),
        (Decimal("0.005"), "USD", "$0.01"),
        (Decimal("-3"), "EUR", "\N{MINUS SIGN}€3.00"),
        (Decimal("-0.001"), "USD", "$0.00"),
        (Decimal("92.5"), "CAD", "CAD\N{NO-BREAK SPACE}92.50"),
        (None, "USD", "\N{EN DASH}"),
    ],
)
def test_money_carries_its_currency(amount, currency, said):
    assert words.money(amount, currency) == said


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        (Decimal("92.5000"), "$92.50"),
        (Decimal("0.0525"), "$0.0525"),
        (Decimal("1.3300"), "$1.33"),
        (Decimal("1.3350"), "$1.335"),
        (Decimal("100.0000"), "$100.00"),
    ],
)
def test_prices_show_more_than_cents_only_where_they_have_more(amount, said):
    assert words.price(amount, "USD") == said


def test_less_than_nothing_is_said_of_all_its_parts_on_every_page():
    butter = compile_converter(
        read_item_measures("butter", "mass", own_units="stick = 4 oz")
    )

    amount = Amount(Decimal("-1304.0781"), butter)  # 2 lb 14 oz

    assert amount.words.replace("\N{NO-BREAK SPACE}", " ") == "minus 2 lb 14 oz"
    assert amount.difference_words == amount.words
    assert amount.below_words.startswith(
        "2\N{NO-BREAK SPACE}lb 14\N{NO-BREAK SPACE}oz below zero"
    )
