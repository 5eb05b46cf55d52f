from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.models import Sum

from stock.models import Balance, Pack, Supplier
from stock.models.fields import AmountField, MoneyField, PriceField
from tests import build


@pytest.mark.parametrize(
    ("field", "given", "kept", "stored"),
    [
        (AmountField(), "0", "0", 0),
        (AmountField(), "1", "1", 10_000),
        (AmountField(), "-1.5", "-1.5", -15_000),
        (AmountField(), "0.00005", "0.0001", 1),
        (AmountField(), "0.00004999", "0", 0),
        (AmountField(), "-0.00005", "-0.0001", -1),
        (AmountField(), 0.1, "0.1", 1_000),
        (AmountField(), 3, "3", 30_000),
        (AmountField(), "922337203685477.5807", "922337203685477.5807", 2**63 - 1),
        (PriceField(), "89.9999", "89.9999", 899_999),
        (MoneyField(), "10.005", "10.01", 1_001),
        (MoneyField(), "-10.005", "-10.01", -1_001),
        (MoneyField(), "2.675", "2.68", 268),  # a binary float would give 2.67
    ],
)
def test_a_number_is_kept_as_a_whole_number_of_its_last_place(
    field, given, kept, stored
):
    assert field.to_python(given) == Decimal(kept)
    assert field.get_prep_value(given) == stored
    assert field.from_db_value(stored, None, None) == Decimal(kept)


@pytest.mark.parametrize("blank", [None, ""])
def test_blank_is_none_and_not_nothing(blank):
    assert AmountField().to_python(blank) is None
    assert AmountField().get_prep_value(blank) is None
    assert AmountField().from_db_value(None, None, None) is None


@pytest.mark.parametrize("given", ["flour", "1,5", "1 kg", "nan", "inf", "-inf", True])
def test_what_is_no_number_is_refused(given):
    with pytest.raises(ValidationError, match="isn't a number"):
        AmountField().to_python(given)


@pytest.mark.parametrize("given", ["922337203685477.5808", "-1e15", "1e400"])
def test_what_is_too_large_is_refused(given):
    with pytest.raises(ValidationError, match="too large to keep"):
        AmountField().to_python(given)


def test_a_form_takes_decimals():
    form_field = PriceField("price").formfield()

    assert form_field.clean("12.3456") == Decimal("12.3456")
    with pytest.raises(ValidationError, match="4 decimal places"):
        form_field.clean("12.34567")


@pytest.mark.django_db
class TestInTheDatabase:
    def test_it_comes_back_as_it_went_in(self):
        pack = build.pack(build.item(), price="12.3456")

        assert Pack.objects.get().price == pack.price == Decimal("12.3456")
        assert Pack.objects.values_list("price", flat=True).get() == pack.price

    def test_the_column_holds_a_whole_number(self):
        build.pack(build.item(), price="12.3456")

        with connection.cursor() as cursor:
            cursor.execute("SELECT price FROM stock_pack")
            assert cursor.fetchone() == (123_456,)

    def test_sums_are_exact(self):
        shelf = build.place()
        for base in ("0.1", "0.2", "0.3"):
            build.item(place=shelf, on_hand_base=base)

        total = Balance.objects.aggregate(total=Sum("amount_base"))["total"]

        assert total == Decimal("0.6")

    @pytest.mark.parametrize(
        ("lookup", "value", "found"),
        [
            ("exact", Decimal("1.5"), True),
            ("exact", "1.5", True),
            ("exact", 1.5, True),
            ("gte", 1.5, True),  # Django alone would look for 2 and more
            ("lt", 1.5, False),  # ... and below 2
            ("gt", Decimal("1.49"), True),
            ("lte", Decimal("1.49"), False),
            ("in", [Decimal("1.5"), Decimal(7)], True),
            ("range", (Decimal(1), Decimal(2)), True),
            ("gt", 1, True),
        ],
    )
    def test_it_is_compared_by_its_value(self, lookup, value, found):
        build.supplier(minimum_order=Decimal("1.5"))

        rows = Supplier.objects.filter(**{f"minimum_order__{lookup}": value})

        assert rows.exists() is found

    def test_it_sorts_by_its_value(self):
        for minimum in ("10", "9.5", "-0"):
            build.supplier(f"minimum {minimum}", minimum_order=minimum)

        ordered = Supplier.objects.order_by("minimum_order")

        assert [row.minimum_order for row in ordered] == [0, Decimal("9.5"), 10]
