"""What people say at the shelf, against a list that was written by hand."""

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock import errors
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.spoken import (
    grammar_for_phone,
    read_spoken,
    stated_words,
    words_for_phone,
)
from stock.measures.resolution import to_ledger
from tests.measures.spoken_items import (
    ITEMS,
    KINDS,
    LB_G,
    REFUSED,
    SAID,
    TARES,
    UNDERSTOOD,
    WORTH_BASE,
    asked,
    kept,
)


def test_the_list_is_long_and_a_third_of_it_is_not_clear():
    assert len(SAID) >= 390
    assert len(REFUSED) >= 130
    assert len({(row["item"], row["said"]) for row in SAID}) == len(SAID)


@pytest.mark.parametrize("row", UNDERSTOOD, ids=lambda row: row["said"])
def test_what_people_say_comes_to_what_they_mean(row):
    spoken = read_spoken(row["said"], ITEMS[row["item"]], TARES)

    meant_base = Fraction(row["number"]) * WORTH_BASE[row["unit"]]
    assert spoken.amount_base == meant_base


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["said"])
def test_what_cannot_be_understood_is_refused_for_its_reason(row):
    with pytest.raises(errors.MeasureError) as refused:
        read_spoken(row["said"], ITEMS[row["item"]], TARES)

    assert type(refused.value) is KINDS[row["refusal"]]


def test_the_partials_of_a_bag_and_a_bin_on_the_scale():
    # Reference C-53: 3 full 50-lb bags + 0.4 bag; gross 18.64 lb, tare 2.15 lb.
    flour = ITEMS["flour"]

    bags = read_spoken("3 full bags + 0.4 bag", flour)
    scale = read_spoken("18.64 lb - bin", flour, TARES)

    assert bags.amount_base == 170 * LB_G
    assert scale.amount_base == Fraction("16.49") * LB_G
    assert scale.understood.startswith("18.64 lb less 2.15 lb = ")


@pytest.mark.parametrize(
    "said", ["1 case", "36 lb", "144 sticks", "1152 tbsp", "576 oz", "1ca", "144s"]
)
def test_a_case_of_butter_however_it_is_said(said):
    # Reference A-86: 36 x 1 lb = 144 sticks = 1,152 tbsp = 576 oz = 16.329325 kg.
    butter = kept(
        "butter",
        "mass",
        equivalents="1 tbsp = 1/2 oz",
        own_units="stick = 4 oz",
        packs=[("case", "36 lb")],
    )

    assert round(float(read_spoken(said, butter).amount_base) / 1000, 6) == 16.329325


@pytest.mark.parametrize("blank", ["", " ", "\t", "\N{NO-BREAK SPACE}"])
def test_blank_is_not_counted_and_never_zero(blank):
    assert read_spoken(blank, ITEMS["butter"]) is None


@pytest.mark.parametrize(
    ("said", "echo"),
    [
        ("2ca 6lb", "2 cases + 6 lb = 78 lb"),
        ("2c 6lb 4oz", "2 cases + 6 lb 4 oz = 78.25 lb"),
        ("6lb 4oz", "6 lb 4 oz"),
        ("3s", "3 sticks = 12 oz"),
        ("none", "none"),
        ("1/2 ca", "1/2 case = 18 lb"),
    ],
)
def test_an_entry_is_echoed_as_it_was_understood(said, echo):
    assert read_spoken(said, ITEMS["butter"]).understood == echo


def test_first_letters_of_two_words_name_both():
    assert asked("3 ca", ITEMS["cream"]) == ("3 cases", "3 cartons")


def test_first_letters_of_units_are_asked_about_where_no_own_word_begins_so():
    assert asked("2 p", ITEMS["butter"]) == ("2 lb", "2 pints", "2 pinches")


def test_an_item_whose_own_word_is_half_still_has_halves():
    eggs = kept("eggs", "count", packs=[("half", "15 dozen"), ("case", "30 dozen")])

    assert read_spoken("2 halfs", eggs).amount_base == 360
    assert read_spoken("a half", eggs).amount_base == 180
    assert read_spoken("half a case", eggs).amount_base == 180


def test_a_word_of_two_words_is_taken_whole():
    cake = kept("board", "count", own_units="half sheet = 2 each; sheet = 4 each")

    assert read_spoken("3 half sheets", cake).amount_base == 6
    assert read_spoken("half a sheet", cake).amount_base == 2


def test_a_sentence_quotes_what_was_typed():
    with pytest.raises(errors.QuantityError) as refused:
        read_spoken("3 lb 6 2 ca", ITEMS["butter"])

    assert str(refused.value) == (
        '"3 lb 6 2 ca" isn\'t a quantity: 6 has no unit. '
        "Write what it counts, such as 6 oz, 6 lb or 6 cases."
    )
    assert refused.value.position == len("3 lb 6 ")


def test_what_a_phone_needs_is_plain_json_with_exact_factors():
    words = json.loads(json.dumps(words_for_phone(ITEMS["butter"])))

    assert Fraction(words["units"]["lb"]) == LB_G
    assert [word["word"] for word in words["words"]] == ["case", "box", "stick"]
    assert Fraction(words["words"][1]["base"]) == 12 * LB_G
    assert words["words"][1]["forms"] == ["box", "boxes", "boxs"]
    grammar = json.loads(json.dumps(grammar_for_phone()))
    assert grammar["unit_by_form"]["pounds"] == "lb"
    assert Fraction(grammar["shares"]["half"]) == Fraction(1, 2)


@given(text=st.text(alphabet="0123456789 ./½+-,;&#abclotsuxhfn%=", max_size=30))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    try:
        spoken = read_spoken(text, ITEMS["butter"], TARES)
    except errors.MeasureError as refused:
        sentence = str(refused)
    else:
        sentence = "." if spoken is None else f"{spoken.understood}."
        assert spoken is None or spoken.amount_base >= 0
    assert sentence.endswith((".", "?"))


@given(
    cases=st.integers(1, 40),
    pounds=st.integers(1, 35),
    joiner=st.sampled_from([" ", " + ", ", ", " and ", "; ", " & ", " plus ", ""]),
)
def test_however_it_is_joined_the_sum_is_the_same(cases, pounds, joiner):
    spoken = read_spoken(f"{cases} ca{joiner}{pounds} lb", ITEMS["butter"])

    assert spoken.amount_base == (36 * cases + pounds) * LB_G


@given(
    name=st.sampled_from(sorted(ITEMS)),
    amount_base=st.decimals(min_value="0.0001", max_value=500_000, places=4),
)
def test_an_echo_says_what_is_stored_whatever_it_is(name, amount_base):
    converter = ITEMS[name]

    words = stated_words(Fraction(amount_base), converter)

    assert to_ledger(converter.to_base(parse_quantity(words))) == amount_base


@pytest.mark.parametrize(
    ("item", "typed", "echo"),
    [
        (
            "butter",
            "8 kg",
            "8 kg = about 17.64 lb",
        ),  # not 17 3/4 lb, which is 51 g more
        ("flour", "18.64 lb", "18.64 lb"),
        ("butter", "1 kg 3 g", "1 kg 3 g = about 2.21 lb"),
        ("butter", "2 cases 6 lb", "2 cases + 6 lb = 78 lb"),
    ],
)
def test_an_echo_says_where_it_is_rounded(item, typed, echo):
    assert read_spoken(typed, ITEMS[item]).understood == echo
