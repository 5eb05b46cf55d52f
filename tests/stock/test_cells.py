from datetime import date, datetime, time
from decimal import Decimal

import pytest

from stock.entry import cells
from stock.entry.calendar_cells import Clock, Day, Days, TimeZone, Weekdays
from stock.entry.cells import CellError
from stock.entry.measure_cells import Length, Ratio
from stock.entry.money_cells import MONEY, PRICE, Currency, PriceBreaks

# A spreadsheet knows no time zone.
DATE_CELL = datetime.fromisoformat("2026-05-09")
DATE_CELL_WITH_TIME = datetime.fromisoformat("2026-05-09 14:00")
TAX = cells.Number(most=Decimal(100), below_most=True, places=3)


@pytest.mark.parametrize(
    ("kind", "typed", "value"),
    [
        (cells.Name(), "  butter ", "butter"),
        (cells.Name(), 10045.0, "10045"),
        (cells.Name(), "cre\u0300me", "cr\u00e8me"),
        (cells.Text(), "a\r\nb", "a\nb"),
        (cells.FoodNumber(), "01145", "01145"),
        (cells.FoodNumber(), 1145.0, "01145"),  # a spreadsheet's number
        (cells.FoodNumber(), "", ""),
        (cells.Text(), DATE_CELL, "2026-05-09"),
        (cells.Quantity(), " 1 3/4 cup", "1 3/4 cup"),
        (Ratio(), "3/4 cup  for 1 cup", "3/4 cup for 1 cup"),
        (cells.Number(), "1\u0663", Decimal(13)),  # a digit of another script
        (cells.WholeNumber(), "12", 12),
        (cells.WholeNumber(), 3.0, 3),
        (cells.WholeNumber(), "3.0", 3),
        (cells.WholeNumber(), "Six", 6),
        (cells.WholeNumber(), "twenty-five", 25),
        (PRICE, "92.50", Decimal("92.5")),
        (PRICE, 0.1 + 0.2, Decimal("0.3")),
        (MONEY, 0, Decimal(0)),
        (cells.Name(), "👩\u200d🍳 cake", "👩\u200d🍳 cake"),
        (TAX, "99.999", Decimal("99.999")),
        (cells.YesNo(), "Yes", True),
        (cells.YesNo(), "no", False),
        (cells.YesNo(), True, True),
        (cells.Choice(("mass", "count")), " Mass", "mass"),
        (cells.Words(), "milk; wheat;milk;", "milk; wheat"),
        (cells.Email(), "orders@mill.example", "orders@mill.example"),
        (Currency(), "usd", "USD"),
        (Length(), "1 1/2 in", "1 1/2 in"),
        (Length(), "1½ in", "1½ in"),
        (PriceBreaks(), "10:92.50 ;20: 90", "10: 92.50; 20: 90"),
        (Day(), "2026-05-09", date(2026, 5, 9)),
        (Day(), DATE_CELL, date(2026, 5, 9)),
        (Clock(), "9:00", time(9)),
        (Clock(), time(14, 0, 5), time(14)),
        (Weekdays(), "Fri, tuesday", "Tue Fri"),
        (Days(), "2027-01-01; 2026-12-25", "2026-12-25; 2027-01-01"),
        (Days(), date(2026, 12, 25), "2026-12-25"),
        (TimeZone(), "America/Chicago", "America/Chicago"),
    ],
)
def test_a_cell_is_read_and_what_was_read_is_read_the_same(kind, typed, value):
    assert kind.parse(typed) == value
    assert kind.parse(value) == value
    assert cells.is_blank(kind.text(value)) or kind.parse(kind.text(value)) == value


@pytest.mark.parametrize(
    ("kind", "typed", "words"),
    [
        (cells.Name(), "two\nlines", "on one line"),
        (cells.Name(), "bell\x07", "cannot be seen"),
        (cells.Name(), "a\u200bb", "cannot be seen"),
        (cells.Name(), "\u202etac", "cannot be seen"),
        (cells.Name(max_length=3), "four", "at most 3"),
        (cells.WholeNumber(), "2.5", "2.5 isn't a whole number"),
        (cells.WholeNumber(least=1), "0", "1 or more"),
        (cells.WholeNumber(), 2**31, "from 0 to 2147483647"),
        (cells.WholeNumber(), True, "isn't a number"),
        (cells.WholeNumber(), "six cases", "isn't a number"),
        (cells.WholeNumber(), "a", "isn't a number"),
        (cells.WholeNumber(), "no", "isn't a number"),
        (cells.WholeNumber(), "about six", "isn't a number"),
        (cells.WholeNumber(), "two and a half", "2.5 isn't a whole number"),
        (cells.WholeNumber(), float("nan"), "isn't a number"),
        (PRICE, "-1", "above 0"),
        (PRICE, 0, "above 0"),
        (PRICE, "1,5", "a point for decimals"),
        (PRICE, "$5", "bare number"),
        (PRICE, "1.00005", "more than 4 decimal places"),
        (PRICE, "9" * 30, "at most"),
        (TAX, 100, "below 100"),
        (cells.YesNo(), "perhaps", "neither yes nor no"),
        (cells.Choice(("mass", "count")), "weight", "mass or count"),
        (cells.Email(), "mill", "name@place.com"),
        (Currency(), "dollars", "three letters"),
        (Length(), "0 in", "valid length"),
        (Length(), "1/0 in", "valid length"),
        (Length(), "1.5", "valid length"),
        (cells.BarCode(), "12-34", "It has 4 digits"),
        (cells.FoodNumber(), "99999", "isn't a food of the published weights"),
        (cells.FoodNumber(), "butter", "isn't a food of the published weights"),
        (PriceBreaks(), "20: 90; 10: 92", "10 comes after 20"),
        (PriceBreaks(), "10: 92; 10: 90", "10 comes after 10"),
        (PriceBreaks(), "1: 92", "2 or more"),
        (PriceBreaks(), "10: -1", "above 0"),
        (PriceBreaks(), "10: 0", "above 0"),
        (PriceBreaks(), "ten", "packs, a colon and the price"),
        (Day(), "2026-02-30", "There is no 2026-02-30"),
        (Day(), "05/09/2026", "year-month-day"),
        (Day(), 46151, "date cell"),
        (Day(), DATE_CELL_WITH_TIME, "a time in it"),
        (Day(), "0206-05-09", "too far away"),
        (Days(), "2026-12-25; 0026-12-24", "0026-12-24 is too far away"),
        (Clock(), "25:00", "like 14:00"),
        (Weekdays(), "Tue Foo", "'Foo' isn't a weekday"),
        (Days(), "2026-12-25; soon", "'soon' isn't a date"),
        (Days(), "2026-12-25, 2027-01-01", "Write ; between dates"),
        (Days(), "2026-12-25 2027-01-01", "Write ; between dates"),
        (TimeZone(), "Chicago", "America/Chicago"),
        (Ratio(), "3/4 cup", "3/4 cup for 1 cup"),
        (Ratio(), "for 1 cup", "3/4 cup for 1 cup"),
        (cells.Choice(("yes",)), "maybe", "Write yes or leave it blank."),
        (cells.Number(most=Decimal(100), below_most=True), "100", "below 100"),
        (PriceBreaks(), "10 packs 92.50", "10"),
    ],
)
def test_what_cannot_be_read_says_what_to_write(kind, typed, words):
    with pytest.raises(CellError, match=r"^[^\n]+$") as caught:
        kind.parse(typed)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("kind", "value", "cell"),
    [
        (cells.Text(), "", None),
        (Clock(), time(14, 0), time(14, 0)),
        (cells.WholeNumber(), 12, 12),
        (cells.Choice(("each", "mass")), "mass", "mass"),
        (cells.Choice(("each", "mass")), "", None),
        (PRICE, Decimal("92.5000"), Decimal("92.5")),
        (PRICE, Decimal(100), Decimal(100)),
        (MONEY, None, None),
        (cells.YesNo(), True, "yes"),
        (cells.YesNo(), False, None),
        (Day(), date(2026, 5, 9), date(2026, 5, 9)),
        (Day(), date(26, 12, 24), "0026-12-24"),  # no spreadsheet has such a date
    ],
)
def test_a_spreadsheet_cell_holds_plain_values(kind, value, cell):
    assert kind.cell(value) == cell
    assert str(kind.cell(value)) == str(cell)
