"""What one piece of an item is called, and amounts that are said by it."""

import pytest

from stock.errors import SeveralReadingsError
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.nouns import noun, with_noun, without_noun
from stock.measures.packs import PackWord
from stock.measures.reading.spoken import read_spoken


@pytest.mark.parametrize(
    ("name", "words", "said"),
    [
        ("lemons", "39 each", "39 lemons"),
        ("Egg, large", "3 flats + 1 each", "3 flats + 1 egg"),
        ("Berry", "2 each", "2 berries"),
        ("piping bags", "1/2 each", "1/2 piping bag"),
        ("6 in board", "30 each", "30 boards"),
        ("cake box 10 in", "1 bundle + 2 each", "1 bundle + 2 cake boxes"),
        ("2 oz portion cups", "3 each", "3 portion cups"),
        ("quart containers", "1 each", "1 quart container"),
        ("lemons", "0.08 each", "0.08 lemon"),
        ("lemons", "1.5 each", "1.5 lemons"),
        ("lemons", "¾ each", "¾ lemon"),
        ("eggs", "3/7 of a each", "3/7 of an egg"),
        ("eggs", "20 dozen 7 each", "20 dozen 7 eggs"),
    ],
)
def test_what_is_counted_is_said_by_its_name(name, words, said):
    counted = compile_converter(read_item_measures(name, "count"))

    assert with_noun(words, counted) == said


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("lemons", "39 each"),
        ("eggs", "1/2 each"),
        ("6 in board", "2 bundles + 1 each"),
        ("eggs", "5 dozen 7 each"),
        ("eggs", "2 dozen"),
    ],
)
def test_a_name_is_read_back_as_what_it_counts(name, words):
    counted = compile_converter(read_item_measures(name, "count"))

    said = with_noun(words, counted)

    assert without_noun(said, counted) == words


def test_what_is_weighed_or_has_its_own_word_for_one_has_no_noun():
    butter = read_item_measures("butter", "mass", own_units="stick = 4 oz")
    ribbon = read_item_measures("ribbon", "count", own_units="yard = 1 each")

    assert noun(compile_converter(butter)) is None
    assert noun(compile_converter(ribbon)) is None


@pytest.mark.parametrize("name", ["eggs", "cake box 10 in", "10 in cake boxes"])
def test_a_name_without_its_size_can_be_typed(name):
    counted = compile_converter(read_item_measures(name, "count"))

    assert read_spoken(with_noun("2 each", counted), counted).amount_base == 2


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("2/25", '"2/25" could be 2 x 25 lemons, 0.08 lemon or 0.08 case. Write one '),
        ("39", '"39" could be 39 lemons or 39 cases. Write one of them.'),
    ],
)
def test_a_question_says_pieces_by_name_and_sends_what_is_read_anywhere(typed, asked):
    case = PackWord("case", "115 each")
    lemons = compile_converter(read_item_measures("lemons", "count", packs=[case]))

    with pytest.raises(SeveralReadingsError) as caught:
        read_spoken(typed, lemons)

    assert str(caught.value).startswith(asked)
    assert all("each" in text or "case" in text for text in caught.value.readings)
