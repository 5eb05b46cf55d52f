"""A workbook's cells as plain values."""

from datetime import date
from fractions import Fraction

from tests.reference.quantities import (
    Measure,
)

Rows = list[dict[str, str]]


WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def cutoff_days_by_weekday(text: str) -> dict[int, int]:
    """`2` for every weekday, or `Mon 4; Thu 2`."""
    if text.isdigit():
        return dict.fromkeys(range(7), int(text))
    pairs = [clause.split() for clause in split(text)]
    return {WEEKDAYS.index(day[:3].lower()): int(days) for day, days in pairs}


def tidy(rows: Rows) -> Rows:
    """Rows with folded column names and trimmed cells, blank rows left out."""
    trimmed = [{fold(k): (v or "").strip() for k, v in r.items()} for r in rows]
    return [row for row in trimmed if any(row.values())]


def fold(text: str) -> str:
    return text.strip().casefold()


def split(text: str) -> list[str]:
    return [piece.strip() for piece in text.split(";") if piece.strip()]


def weekdays(text: str) -> set[int]:
    return {WEEKDAYS.index(w[:3].lower()) for w in text.replace(";", " ").split()}


def dates(text: str) -> set[date]:
    return {date.fromisoformat(piece) for piece in split(text)}


def price_breaks(text: str) -> list[tuple[int, Fraction]]:
    pairs = [clause.split(":") for clause in split(text)]
    return sorted((int(packs), Fraction(price.strip())) for packs, price in pairs)


def truth(text: str | None) -> bool:
    return fold(text or "") in {"yes", "true", "1"}


def whole_or_none(text: str | None) -> int | None:
    return int(text) if text else None


def day_or_none(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def optional(measure: Measure, text: str | None) -> Fraction | None:
    return measure.amount(text) if text else None


def rounded(amount: Fraction | None, places: int | None) -> Fraction | None:
    """The amount to so many places, half up; exact where places is None."""
    if amount is None or places is None:
        return amount
    return Fraction((amount * 10**places + Fraction(1, 2)).__floor__(), 10**places)
