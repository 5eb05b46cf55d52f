import pytest

from stock.errors import AmbiguousPackWordError, UnknownUnitError, WordClashError
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord


def butter(*packs):
    return compile_converter(
        read_item_measures("butter", "mass", own_units="stick = 100 g", packs=packs)
    )


def test_a_case_holds_what_its_pack_says():
    item = butter(PackWord("case", "20 kg"))

    assert item.to_base("2 cases + 500 g") == 40_500
    assert item.through("cases") == "1 case = 20 kg"


def test_a_pack_may_be_given_in_the_item_s_own_words():
    assert butter(PackWord("case", "144 sticks")).to_base("1 case") == 14_400


def test_a_pack_is_not_given_in_another_pack():
    with pytest.raises(UnknownUnitError):
        butter(PackWord("case", "20 kg"), PackWord("pallet", "40 cases"))


def test_a_word_for_two_amounts_is_refused():
    packs = [PackWord("case", "20 kg"), PackWord("Case", "10 kg")]

    with pytest.raises(AmbiguousPackWordError) as caught:
        butter(*packs)

    assert "could be 20 kg or 10 kg" in str(caught.value)
    assert "Mark one of these packs as preferred" in str(caught.value)


def test_the_preferred_pack_settles_the_word():
    item = butter(PackWord("case", "20 kg"), PackWord("case", "10 kg", preferred=True))

    assert item.to_base("1 case") == 10_000


def test_two_preferred_packs_of_different_amounts_settle_nothing():
    packs = [PackWord("case", "20 kg", True), PackWord("case", "10 kg", True)]

    with pytest.raises(AmbiguousPackWordError):
        butter(*packs)


def test_the_same_amount_from_two_suppliers_is_one_word():
    item = butter(PackWord("case", "20 kg"), PackWord("case", "200 sticks"))

    assert item.to_base("1 case") == 20_000
    assert [own.word for own in item.own_words] == ["case", "stick"]


def test_a_pack_without_a_word_is_left_out():
    item = butter(PackWord("", "20 kg"), PackWord("  ", "10 kg"))

    assert [own.word for own in item.own_words] == ["stick"]


def test_a_pack_word_cannot_be_another_own_word_of_another_amount():
    with pytest.raises(WordClashError, match="already means 100 g"):
        butter(PackWord("stick", "20 kg"))


def test_a_pack_word_may_repeat_an_own_word_of_the_same_amount():
    item = butter(PackWord("stick", "100 g"))

    assert [own.is_pack for own in item.own_words] == [True]
