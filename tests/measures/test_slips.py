"""The slip catcher: what it asks about, and what it lets pass."""

from fractions import Fraction
from math import exp, log

import pytest

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.spoken import read_spoken
from stock.measures.slips import Record, SlipKind, Spread, question, spread_from
from tests.benchmarks import bench_slips

LB_G = 453.59237
BUTTER = compile_converter(
    read_item_measures(
        "butter",
        "mass",
        own_units="stick = 4 oz",
        packs=[PackWord("case", "36 lb")],
    )
)


def asked(said, *, expected_lb, usual_lb=72, **known):
    record = Record(
        expected_base=None if expected_lb is None else expected_lb * LB_G,
        usual_base=usual_lb * LB_G,
        **known,
    )
    return question(read_spoken(said, BUTTER), record, BUTTER)


@pytest.mark.parametrize(
    ("said", "expected_lb"),
    [
        ("2 case + 6 lb", 78),
        ("2 case", 78),
        ("70 lb", 78),
        ("2.2 case", 78),
        ("none", 1),
        ("1 lb", 0),
        ("90 lb", 78),
    ],
)
def test_an_ordinary_entry_is_not_asked_about(said, expected_lb):
    assert asked(said, expected_lb=expected_lb) is None


@pytest.mark.parametrize(
    ("said", "expected_lb", "kind", "instead"),
    [
        ("2 lb", 72, SlipKind.PACK, "2 cases"),
        ("6 case", 6, SlipKind.PACK, "6 lb"),
        ("70 oz", 72, SlipKind.PACK, "70 lb"),
        ("70 case", 72, SlipKind.PACK, "70 lb"),
        ("2 stick", 72, SlipKind.PACK, "2 cases"),
        ("27 lb", 72, SlipKind.DIGITS, "72 lb"),
        ("7.2 lb", 72, SlipKind.DIGITS, "72 lb"),
        ("720 lb", 72, SlipKind.DIGITS, "72 lb"),
    ],
)
def test_another_reading_of_the_same_keys_is_offered(said, expected_lb, kind, instead):
    slip = asked(said, expected_lb=expected_lb)

    assert slip.kind is kind
    assert slip.instead.text == instead
    assert slip.sentence == f"Did you mean {instead}?"
    assert read_spoken(slip.entered.text, BUTTER).amount_base == (
        slip.entered.amount_base
    )
    assert read_spoken(slip.instead.text, BUTTER).amount_base == (
        slip.instead.amount_base
    )


def test_a_swapped_word_under_a_tare_keeps_the_tare():
    slip = asked("40 oz - 4 oz", expected_lb=36)

    assert slip.instead.text == "40 lb less 4 oz"
    assert slip.instead.amount_base == Fraction("39.75") * Fraction("453.59237")


def test_much_less_than_the_record_asks_for_the_place_not_counted_yet():
    slip = asked("20 lb", expected_lb=72, not_counted_yet=("freezer",))

    assert slip.kind is SlipKind.PLACE
    assert slip.instead is None
    assert slip.sentence == (
        "That is less than the 2 cases on record. Is the rest in freezer, "
        "which is not counted yet?"
    )


def test_much_of_what_was_due_to_be_nearly_empty_is_asked_about():
    slip = asked("59 lb", expected_lb=1)

    assert slip.kind is SlipKind.NEARLY_EMPTY


def test_none_of_what_was_there_is_asked_about():
    slip = asked("none", expected_lb=72)

    assert slip.kind is SlipKind.FAR_OFF
    assert slip.entered.text == "none"
    assert slip.sentence == "The record says 2 cases. Is it none?"


def test_a_thousand_times_too_much_is_asked_about():
    assert asked("72000 lb", expected_lb=72).kind is SlipKind.FAR_OFF


def test_an_item_of_which_nobody_ever_said_anything_is_not_asked_about():
    assert asked("500 case", expected_lb=None) is None


def test_an_item_that_always_strays_is_asked_about_less():
    wild = spread_from([(4, 10), (25, 10), (3, 10), (30, 10), (5, 10), (20, 10)])

    assert asked("250 lb", expected_lb=72) is not None
    assert asked("250 lb", expected_lb=72, spread=wild) is None


def test_without_past_counts_the_spread_is_a_guess():
    assert spread_from([]) == Spread()
    assert spread_from([(0, 5), (5, 0), (0, 0)]) == Spread()


def test_a_spread_is_the_middle_of_the_past_beside_the_guess():
    # Four counts, each e^0.2 of the record: middle 0.2, no deviation. The guess, a
    # tenth, counts as much as four: 0.2 * 4/8; sqrt((4 * 0.01 + 4 * 0) / 8).
    spread = spread_from([(10 * exp(0.2), 10)] * 4)

    assert spread.middle == pytest.approx(0.1)
    assert spread.width == pytest.approx(0.005**0.5)
    assert spread.counts == 4


def test_one_wild_count_of_many_moves_the_spread_little():
    calm = [(10.0, 10.0)] * 8

    assert spread_from([*calm, (360.0, 10.0)]).middle == 0
    assert spread_from([*calm, (360.0, 10.0)]).width < spread_from(calm).width * 1.5


def test_a_reading_that_is_not_ordinary_itself_is_only_offered():
    # 3 lb is 24 times too little for 72 lb; 3 cases, 108 lb, would be too much, but
    # nearer.
    narrow = Spread(width=0.03, counts=20)

    slip = asked("3 lb", expected_lb=72, spread=narrow)

    assert log(108 / 72) / 0.03 > 10
    assert slip.kind is SlipKind.FAR_OFF
    assert slip.sentence == "The record says 2 cases. Is it 3 lb?"
    assert slip.instead.text == "3 cases"


def test_one_slip_of_the_past_makes_no_item_wild():
    # Counted 36 times too much once: a slip, which says nothing of ordinary days.
    assert spread_from([(360.0, 10.0)]) == Spread()
    assert spread_from([(360.0, 10.0), (10.0, 10.0)]) == spread_from([(10.0, 10.0)])


@pytest.mark.parametrize(
    ("said", "instead"),
    [
        ("77 lb", None),  # within a quarter of 72 lb
        ("722 lb", "72 lb"),  # a digit struck twice
        ("2 lb + 4 lb", "2 cases + 4 lb"),  # nobody says one word twice
        ("2 stick + 4 lb", "2 cases + 4 lb"),  # nor the smaller one first
        ("7 lb", "70 lb"),  # a zero left out
    ],
)
def test_what_hands_do_to_an_entry_is_undone_in_the_question(said, instead):
    slip = asked(said, expected_lb=72)

    assert (slip.instead.text if slip else None) == instead


def test_slips_are_caught_and_honest_entries_left_alone_on_simulated_counts():
    tallies = bench_slips.simulate(cases=600, seed=4)

    assert bench_slips.report(tallies)
    assert all(tally.entries >= 600 for tally in tallies.values())


def test_pieces_are_asked_about_by_their_name():
    eggs = compile_converter(
        read_item_measures("eggs", "count", own_units="flat = 30 each")
    )
    spoken = read_spoken("300 eggs", eggs)

    slip = question(spoken, Record(expected_base=30.0), eggs)

    assert slip.sentence == "Did you mean 30 eggs?"
    assert (slip.entered.shown, slip.instead.shown) == ("300 eggs", "30 eggs")
    assert read_spoken(slip.instead.text, eggs).amount_base == 30
