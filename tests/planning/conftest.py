"""A mill that sells flour, for the tests of orders."""

from decimal import Decimal

import pytest

from tests import build


@pytest.fixture
def mill():
    """Tuesdays and Fridays by 2 pm of the day before; usable the next day."""
    build.bakery(time_zone="UTC")
    return build.supplier("Mill", delivery_fee=Decimal(15))


@pytest.fixture
def flour(mill):
    """1 kg bags at 10.00; from 4 on 9.00 each."""
    return build.pack(
        build.item("flour"), mill, label="1 kg bag", price="10", price_breaks="4: 9"
    )
