"""Rosa at the site on a Monday, noon, and two suppliers to order from."""

from decimal import Decimal

import pytest

from tests import build
from tests.web.orders.drafts import FRIDAY


@pytest.fixture(autouse=True)
def _at_noon(at_noon):
    """The pages ask the clock; here it is Monday, noon."""


@pytest.fixture
def rosa():
    return build.user("rosa", first_name="Rosa")


@pytest.fixture
def site(client, rosa):
    client.force_login(rosa)
    return client


@pytest.fixture
def dairy():
    return build.dairy_kitchen()


@pytest.fixture
def mill():
    """Tuesdays and Fridays by 2 pm of the day before, from 25.00 on."""
    build.bakery(time_zone="UTC", name="Quince & Rye")
    return build.supplier(
        "Mill, Sons & Co", minimum_order=Decimal(25), email="desk@mill.example"
    )


@pytest.fixture
def flour(mill):
    """1 kg bags at 10.00; sold from 2 on; from 4 on 9.00 each."""
    return build.pack(
        build.item("flour"),
        mill,
        label="1 kg bag",
        code="00-7",
        price="10",
        minimum_packs=2,
        price_breaks="4: 9",
    )


@pytest.fixture
def cakes(flour):
    """Cakes for Friday that take 3,000 g of flour: three bags."""
    cake = build.cake("Plain cake", lines=[(flour.item, 1_000)])
    return build.planned_cake(cake, due_on=FRIDAY, quantity=3)
