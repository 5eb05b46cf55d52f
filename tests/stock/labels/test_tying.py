"""A bar code is tied to a pack once, and found from then on."""

import pytest

from stock.labels.tying import BarCodeTakenError, packs_of_bar_code, tie_bar_code
from tests import build

pytestmark = pytest.mark.django_db


def test_a_tied_bar_code_finds_its_pack_whatever_zeros_stand_in_front():
    pack = build.pack(build.item("butter"))

    tie_bar_code(pack.pk, "00416000336108")

    pack.refresh_from_db()
    assert (pack.gtin, pack.version) == ("416000336108", 2)
    assert packs_of_bar_code("00416000336108") == [pack]
    assert packs_of_bar_code("416000336108") == [pack]
    assert packs_of_bar_code("10416000336105") == []


def test_tied_twice_is_tied_once():
    pack = build.pack(build.item("butter"), gtin="416000336108")

    tie_bar_code(pack.pk, "00416000336108")

    pack.refresh_from_db()
    assert pack.version == 1


def test_a_pack_keeps_the_bar_code_that_it_has():
    pack = build.pack(build.item("butter"), label="case", gtin="416000336108")

    with pytest.raises(BarCodeTakenError) as refused:
        tie_bar_code(pack.pk, "12345678901231")

    assert str(refused.value) == (
        "butter, case, keeps its bar code 416000336108. To have 12345678901231 "
        "instead, edit the pack."
    )
    pack.refresh_from_db()
    assert pack.gtin == "416000336108"


def test_what_is_still_sold_comes_before_what_is_retired():
    butter = build.item("butter")
    old = build.pack(butter, label="old", gtin="416000336108", retired=True)
    new = build.pack(butter, label="new", gtin="416000336108")

    assert packs_of_bar_code("416000336108") == [new, old]
