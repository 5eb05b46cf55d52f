import pytest

from stock.conversion.converters import converters_for
from tests import build

pytestmark = pytest.mark.django_db


def test_every_item_has_its_converter_in_two_queries(django_assert_num_queries):
    flour = build.item("flour", equivalents="1 cup = 125 g")
    eggs = build.item("eggs", measure="count")
    white = build.part("egg white", whole=eggs, yields_base=33)
    build.pack(flour, called="sack", size_base=10_000)
    build.recipe("curd")

    with django_assert_num_queries(2):
        converters = converters_for()

    assert len(converters) == 4
    assert converters[flour.pk].to_base("2 cup + 1 sack") == 10_250
    assert converters[white.pk].to_base("2 each") == 66


def test_only_the_items_that_are_asked_for_are_compiled():
    flour = build.item("flour")
    build.item("sugar")

    assert list(converters_for([flour.pk])) == [flour.pk]
