"""A torte on the plan, to try changes with."""

import pytest

from tests import build
from tests.web.what_if.trying import SATURDAY


@pytest.fixture(autouse=True)
def kitchen():
    """1,000 g of butter; a torte takes 400. One is planned for Saturday."""
    build.bakery(time_zone="UTC")
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000, price="9.99")
    torte = build.cake("Torte", lines=[(butter, 400)])
    build.planned_cake(torte, due_on=SATURDAY, reference="T-1")
    return torte
