"""A printed QR code is read by another decoder, and its text by the same field."""

from datetime import date

import pytest

from stock.labels.printing import lot_text, opened_use_by, qr_code
from stock.labels.reading import Label, read_label
from tests.stock.labels.decoding import picture_of, texts_in

TODAY = date(2026, 11, 30)


@pytest.mark.parametrize(
    ("lot_id", "use_by"),
    [(1, date(2026, 12, 3)), (17_261_203, None), (10**17, date(2026, 12, 31))],
)
def test_a_printed_code_is_read_back(lot_id, use_by):
    text = lot_text(lot_id, use_by)

    (read,) = texts_in(picture_of(qr_code(text)))

    assert read == text
    assert read_label(read, today=TODAY) == Label(own_lot_id=lot_id, use_by=use_by)
    assert read_label(f"]Q1{read}", today=TODAY).own_lot_id == lot_id


def test_the_day_of_opening_is_the_first_of_its_days():
    # D-13: opened April 1, use or discard by April 7, at 7 days (Food Code
    # 3-501.17(B); Southern Nevada Health District).
    assert opened_use_by(date(2026, 4, 1), 7, None) == date(2026, 4, 7)


def test_nothing_opened_keeps_longer_than_its_maker_says():
    # D-12: never later than the maker's use-by (Food Code 3-501.17(B)).
    maker = date(2026, 4, 4)

    assert opened_use_by(date(2026, 4, 1), 7, maker) == maker
    assert opened_use_by(date(2026, 4, 1), 2, maker) == date(2026, 4, 2)


def test_how_long_something_opened_keeps_is_not_assumed():
    assert opened_use_by(date(2026, 4, 1), None, date(2026, 9, 1)) is None
