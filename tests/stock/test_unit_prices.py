from decimal import Decimal

import pytest

from stock.models import Item, Pack
from stock.suppliers.unit_prices import UnitPrice, unit_price
from tests.build import MONDAY


@pytest.mark.parametrize(
    ("measure", "size_base", "price", "said"),
    [
        # 36 lb for 118.80; a pound is 453.59237 g
        ("mass", 16329.32532, "118.80", UnitPrice(Decimal("3.30"), "lb")),
        # a US gallon is four quarts of 946.352946 mL
        ("volume", 3785.411784, "18", UnitPrice(Decimal("4.50"), "quart")),
        ("count", 360, "96", UnitPrice(Decimal("0.2667"), "each")),
        ("count", 1, "0", UnitPrice(Decimal("0.0000"), "each")),
        # half a cent goes up
        ("count", 2, "2.01", UnitPrice(Decimal("1.01"), "each")),
    ],
)
def test_packs_are_compared_by_the_unit_of_their_measure(
    measure, size_base, price, said
):
    pack = Pack(item=Item(measure=measure), size_base=size_base, price=Decimal(price))

    assert unit_price(pack, MONDAY) == said
