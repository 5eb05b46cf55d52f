"""What is wrong with a quantity is data first, and a sentence when it is asked for."""

import copy
import pickle

import pytest

from stock.errors import (
    EquivalentError,
    MeasureError,
    NoEquivalentError,
    OwnWordError,
    QuantityError,
    TareError,
    UnknownUnitError,
    WordClashError,
)
from stock.measure_faults import (
    FaultKind,
    Meaning,
    MeasureFault,
    Missing,
    OneMeasureFault,
)
from stock.measures.definitions import parse_equivalents, parse_own_words
from stock.measures.reading.quantity import LONGEST_TEXT, parse_quantity
from stock.measures.reading.spoken import read_spoken
from stock.measures.reading.vocabulary import Notation
from stock.wording.measure_faults import FAULTS, REMEDIES, fault_words
from tests.measures.spoken_items import ITEMS, TARES, kept

BUTTER = ITEMS["butter"]


def fault_of(text, converter=BUTTER):
    with pytest.raises((QuantityError, TareError)) as caught:
        read_spoken(text, converter, tares=TARES)
    return caught.value.fault


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("lb", MeasureFault(FaultKind.NO_NUMBER, "lb", ("2 lb",))),
        ("- 2 lb", MeasureFault(FaultKind.NEGATIVE, "", ("2 cases",))),
        ("; 3 oz", MeasureFault(FaultKind.MISPLACED_MARK, ";", ("1 case + 2 oz",))),
        ("2 lb +", MeasureFault(FaultKind.MISSING_PART, "", ("1 case + 2 oz",))),
        ("2 5/4 lb", MeasureFault(FaultKind.NO_PROPER_FRACTION, "2 5/4", ("3 1/4",))),
        ("3/0 lb", MeasureFault(FaultKind.ZERO_BELOW, "3/0")),
        (
            "20 lb - crate",
            MeasureFault(FaultKind.UNKNOWN_TARE, "crate", tuple(sorted(TARES))),
        ),
        ("1 lb - bin", MeasureFault(FaultKind.TARE_TOO_HEAVY)),
    ],
)
def test_a_quantity_that_cannot_be_read_says_what_is_wrong_as_data(text, fault):
    assert fault_of(text) == fault


def test_what_is_longer_than_people_write_carries_the_most_letters():
    with pytest.raises(QuantityError) as caught:
        parse_quantity("1" * (LONGEST_TEXT + 1))

    assert caught.value.fault == MeasureFault(FaultKind.TOO_LONG, str(LONGEST_TEXT))


def test_a_comma_carries_what_it_may_have_meant():
    with pytest.raises(QuantityError) as caught:
        parse_quantity("1,500 lb")

    assert caught.value.fault == MeasureFault(
        FaultKind.COMMA, "1,500", ("1500", "1.500")
    )


def test_an_equivalent_that_holds_no_quantity_carries_that_error():
    with pytest.raises(EquivalentError) as caught:
        parse_equivalents("1 cup = 3/0 g")

    assert isinstance(caught.value.fault, QuantityError)
    assert caught.value.fault.fault == MeasureFault(FaultKind.ZERO_BELOW, "3/0")
    assert str(caught.value).endswith(str(caught.value.fault))


def test_a_word_that_holds_no_quantity_carries_that_error():
    with pytest.raises(OwnWordError) as caught:
        parse_own_words("stick = 3/0 g")

    assert isinstance(caught.value.fault, QuantityError)


def test_an_equivalent_within_one_measure_carries_the_item_s_own():
    with pytest.raises(EquivalentError) as caught:
        kept("flour", "mass", equivalents="1 oz = 28 g")

    assert caught.value.fault == OneMeasureFault("flour", "weight", "g", is_both=True)


@pytest.mark.parametrize(
    ("own_units", "meaning"),
    [
        ("lb = 2 oz", Meaning("lb")),
        ("stick = 4 oz; sticks = 5 oz", Meaning("stick", "4 oz")),
    ],
)
def test_a_word_that_means_something_else_carries_what(own_units, meaning):
    with pytest.raises(WordClashError) as caught:
        kept("butter", "mass", own_units=own_units)

    assert caught.value.meaning == meaning


@pytest.mark.parametrize(
    ("measure", "text", "missing"),
    [
        ("mass", "1 cup", Missing.WEIGHT_OF_UNIT),
        ("mass", "1 dozen", Missing.WEIGHT_OF_ONE),
        ("volume", "1 oz", Missing.FLUID_OR_WEIGHT_OF_CUP),
        ("volume", "1 lb", Missing.WEIGHT_OF_CUP),
        ("volume", "1 each", Missing.VOLUME_OF_ONE),
        ("count", "1 lb", Missing.WEIGHT_OF_ONE),
        ("count", "1 cup", Missing.HOW_MANY_FILL_UNIT),
    ],
)
def test_a_unit_that_cannot_be_converted_carries_what_is_missing(
    measure, text, missing
):
    with pytest.raises(NoEquivalentError) as caught:
        kept("flour", measure).typed_base(text, Notation.RECIPE)

    assert caught.value.missing is missing


def test_an_unknown_unit_carries_the_units_of_the_item():
    with pytest.raises(UnknownUnitError) as caught:
        kept("flour", "mass", own_units="bag = 50 lb").to_base("2 bgs")

    assert (caught.value.word, caught.value.nearest) == ("bgs", "bag")
    assert caught.value.units == ("oz", "lb", "bag")


def test_every_kind_of_fault_and_every_remedy_has_its_words():
    assert (set(FAULTS), set(REMEDIES)) == (set(FaultKind), set(Missing))


@pytest.mark.parametrize("kind", FaultKind)
def test_no_braces_are_left_in_the_words_of_a_fault(kind):
    words = fault_words(MeasureFault(kind, "{what}", ("2 lb", "3 lb")))

    assert "{first}" not in words
    assert "{such_as}" not in words
    assert words.endswith(".")


@pytest.mark.parametrize("again", [copy.copy, lambda e: pickle.loads(pickle.dumps(e))])  # noqa: S301
@pytest.mark.parametrize("text", ["lb", "2 lb - crate", "2 zz", "1,5 lb 3"])
def test_an_error_says_the_same_in_another_process(text, again):
    with pytest.raises(MeasureError) as caught:
        read_spoken(text, BUTTER, tares=TARES)

    assert str(again(caught.value)) == str(caught.value)


def test_a_tare_where_none_is_known_is_asked_for_as_a_weight():
    said = fault_words(MeasureFault(FaultKind.UNKNOWN_TARE, "crate"))

    assert said == 'no tare is called "crate". Write its weight, such as 2.15 lb.'
