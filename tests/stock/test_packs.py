from datetime import date
from decimal import Decimal
from functools import partial

import pytest

from stock.conversion.converters import converters_for
from stock.entry.entries import Change, EntryFaultsError
from stock.items.items import keep_items
from stock.models import Item, Pack
from stock.suppliers.packs import keep_packs, pack_entries, retire_pack, unretire_pack
from tests import build, faults

pytestmark = pytest.mark.django_db

LB_G = 453.59237
CASE = {
    "supplier": "Mill",
    "item": "butter",
    "pack": "case 36 x 1 lb",
    "called": "case",
    "holds": "36 lb",
    "price": "129.60",
}
SMALL_CASE = CASE | {"pack": "case 30 x 1 lb", "holds": "30 lb"}


@pytest.fixture(autouse=True)
def butter():
    build.supplier("Mill")
    return build.item("butter", own_units="stick = 4 oz")


faults_of = partial(faults.of, keep_packs)


def converter(item):
    return converters_for([item.pk])[item.pk]


def test_a_pack_holds_so_much_of_its_item(butter):
    keep_packs([CASE | {"price_breaks": "10: 120; 20: 110.5"}])

    pack = Pack.objects.get()
    assert pack.size_base == pytest.approx(36 * LB_G)
    assert pack.price == Decimal("129.6")
    assert (pack.minimum_packs, pack.multiple, pack.preferred) == (1, 1, False)
    assert float(converter(butter).to_base("2 cases")) == pytest.approx(72 * LB_G)


def test_the_same_pack_again_changes_nothing():
    keep_packs([CASE])

    assert keep_packs([CASE | {"supplier": "mill", "item": "BUTTER"}]).unchanged == 1


def test_a_pack_may_be_given_in_the_items_words_and_in_other_packs():
    keep_packs(
        [
            CASE | {"pack": "pallet", "called": "pallet", "holds": "40 case"},
            CASE,
            CASE | {"pack": "sleeve", "called": "", "holds": "8 stick"},
        ]
    )

    sizes = dict(Pack.objects.values_list("label", "size_base"))
    assert sizes["pallet"] == pytest.approx(40 * 36 * LB_G)
    assert sizes["sleeve"] == pytest.approx(2 * LB_G)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("supplier", "Mil", "Did you mean Mill?"),
        ("item", "buter", 'There is no item "buter". Did you mean butter?'),
        ("item", "curd", "Curd: made here"),
        ("item", "egg white", "Egg white: a part"),
        ("holds", "0 lb", "more than nothing"),
        ("holds", "36", "36 has no unit"),
        ("holds", "12/32 oz", "12 x 32 oz or ⅜ oz"),
        ("holds", "6/5 lb", "6 x 5 lb or 1.2 lb"),
        ("holds", "4/5 lb", "4 x 5 lb or ⅘ lb"),
        ("holds", "3/4 stick", "¾ stick or 3 x 4 stick"),
        ("holds", "2 cup", "nothing says what 1 cup"),
        ("price", "-1", "above 0"),
        ("minimum_packs", "0", "1 or more"),
        ("multiple", "0", "1 or more"),
        ("price_breaks", "20: 90; 10: 92", "10 comes after 20"),
        ("called", "lb", "already means the unit lb"),
        ("called", "stick", "already means 4 oz"),
        ("called", "case 36", "a word of letters"),
        ("gtin", "12-3", "It has 3 digits"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(column, value, words):
    build.part("egg white", whole=build.item("eggs", measure="count"), yields_base=33)
    build.recipe("curd")

    faults = faults_of([CASE | {column: value}])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]


@pytest.mark.parametrize(
    ("holds", "lb"),
    [
        ("12 x 32 oz", 24),
        ("36x1lb", 36),
        ("2 \N{MULTIPLICATION SIGN} 5 lb", 10),
        ("1/2 lb", 0.5),
        ("1 3/4 lb", 1.75),
        ("¾ lb", 0.75),
    ],
)
def test_a_pack_written_in_one_way_holds_what_it_says(holds, lb):
    keep_packs([CASE | {"holds": holds}])

    assert Pack.objects.get().size_base == pytest.approx(lb * LB_G)


def test_one_word_for_two_sizes_is_a_fault_until_one_is_preferred(butter):
    faults = faults_of([CASE, SMALL_CASE])
    assert list(faults) == [(2, "called")]
    assert "36 lb or 30 lb" in faults[2, "called"]

    keep_packs([CASE, SMALL_CASE | {"preferred": "yes"}])
    assert float(converter(butter).to_base("1 case")) == pytest.approx(30 * LB_G)


def test_what_is_typed_in_a_packs_word_follows_the_pack():
    keep_packs([CASE])
    keep_items([{"item": "butter", "par": "2 case"}])

    keep_packs([SMALL_CASE | {"pack": "case 36 x 1 lb"}])

    assert Item.objects.get().par_base == pytest.approx(60 * LB_G)


def test_a_word_that_is_in_use_cannot_be_taken_away():
    keep_packs([CASE])
    keep_items([{"item": "butter", "par": "2 case"}])

    faults = faults_of([CASE | {"called": ""}])
    assert faults[1, "called"].startswith("The par of butter is 2 case.")


def test_the_word_of_a_retired_pack_still_counts_what_stands_on_the_shelf(butter):
    keep_packs([CASE])
    keep_items([{"item": "butter", "par": "2 case"}])

    retire_pack(Pack.objects.get().pk)

    [entry] = pack_entries()
    assert entry["retired"]
    assert float(converter(butter).to_base("1 case")) == pytest.approx(36 * LB_G)


def test_the_word_of_a_pack_that_is_bought_comes_before_a_retired_ones(butter):
    keep_packs([CASE])
    pack = Pack.objects.get()

    retire_pack(pack.pk)
    keep_packs([SMALL_CASE])
    assert float(converter(butter).to_base("1 case")) == pytest.approx(30 * LB_G)

    with pytest.raises(EntryFaultsError, match="30 lb"):
        unretire_pack(pack.pk)


def test_a_page_changes_the_words_of_a_pack():
    keep_packs([CASE])

    kept = keep_packs([{"pack": "case of 36"}], ids=[Pack.objects.get().pk])

    assert kept.changed == (
        Change("Mill, butter, case of 36", "pack", "case 36 x 1 lb", "case of 36"),
    )


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    keep_packs([CASE | {"price_breaks": "10: 120", "code": "0042", "gtin": "02345673"}])

    entries = pack_entries()

    assert (entries[0]["code"], entries[0]["gtin"]) == ("0042", "02345673")
    assert keep_packs(entries).unchanged == 1


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    def entries(word, count):
        return [CASE | {"pack": f"{word} {n}", "called": ""} for n in range(count)]

    with django_assert_num_queries(7):
        keep_packs(entries("few", 2))
    with django_assert_num_queries(7):
        keep_packs(entries("many", 60))


NEXT = {"next_price": "19.5", "next_price_from": "2026-07-01"}


def test_a_next_price_and_its_day_come_back():
    keep_packs([CASE | NEXT])

    [entry] = pack_entries()
    assert (entry["next_price"], entry["next_price_from"]) == (
        Decimal("19.5"),
        date(2026, 7, 1),
    )
    assert keep_packs([CASE | NEXT]).unchanged == 1


@pytest.mark.parametrize("blank", list(NEXT))
def test_a_next_price_needs_its_day_and_a_day_its_price(blank):
    found = faults_of([CASE | NEXT | {blank: ""}])

    assert list(found) == [(1, blank)]


def test_a_file_retires_a_pack_and_brings_it_back():
    keep_packs([CASE | {"retired": "yes"}])
    assert Pack.objects.get().retired

    keep_packs([CASE])
    assert Pack.objects.get().retired, "a column that is not named changes nothing"

    keep_packs([CASE | {"retired": ""}])
    assert not Pack.objects.get().retired
