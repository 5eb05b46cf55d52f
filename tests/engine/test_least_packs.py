import itertools
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.scenarios import least_packs
from planning.engine.scenarios.least_packs import Option, least_choice, options_of


def kind(size, numbers, price_of):
    """One kind of packs in the numbers in which it is sold."""
    return [
        Option((count,), float(size * count), Decimal(price_of(count) * count))
        for count in numbers
    ]


@st.composite
def kinds(draw):
    """A size, the numbers in which it is sold, and a price that may break once."""
    size, price = draw(st.integers(1, 12)), draw(st.integers(0, 30))
    first, multiple = draw(st.integers(1, 3)), draw(st.integers(1, 3))
    numbers = range(first, first + multiple * draw(st.integers(1, 4)), multiple)
    from_packs, cheaper = draw(st.integers(1, 9)), draw(st.integers(0, price))
    return kind(
        size, [0, *numbers], lambda count: cheaper if count >= from_packs else price
    )


DELIVERY = st.lists(kinds(), min_size=1, max_size=2)


@settings(max_examples=300, deadline=None)
@given(sold=st.lists(DELIVERY, min_size=1, max_size=3), share=st.floats(0.0, 1.0))
def test_no_other_packs_that_are_enough_cost_less(sold, share):
    options = [options_of(each) for each in sold]
    every = list(itertools.product(*(itertools.product(*each) for each in sold)))

    def held(deliveries):
        return sum(option.amount_base for each in deliveries for option in each)

    def cost(deliveries):
        return sum(option.cost for each in deliveries for option in each)

    def taken(choice):
        return [[mine[place]] for mine, place in zip(options, choice, strict=True)]

    need = int(share * max(map(held, every)))

    found = taken(least_choice(options, lambda choice: held(taken(choice)) >= need))

    assert held(found) >= need
    assert cost(found) == min(cost(each) for each in every if held(each) >= need)


def test_more_packs_that_cost_less_are_taken_from_the_break_on():
    # 9 are needed: at 2.00 they are 18.00, ten at 1.00 are 10.00.
    case = kind(1, range(19), lambda count: 1 if count >= 10 else 2)

    options = options_of([case])

    [place] = least_choice(
        [options], lambda choice: options[choice[0]].amount_base >= 9
    )

    assert (options[place].packs, options[place].cost) == ((10,), Decimal(10))


def test_kinds_of_one_delivery_are_taken_together():
    # 13 are needed: a case of 10 for 10.00 and a loose pack of 3 for 4.00.
    options = options_of(
        [kind(10, range(3), lambda _: 10), kind(3, range(6), lambda _: 4)]
    )

    [place] = least_choice(
        [options], lambda choice: options[choice[0]].amount_base >= 13
    )

    assert options[place].packs == (1, 1)


def test_of_equals_the_kind_that_comes_first_is_taken():
    same = kind(5, range(3), lambda _: 2)

    assert [option.packs for option in options_of([same, same])] == [
        (0, 0),
        (1, 0),
        (2, 0),
        (2, 1),
        (2, 2),
    ]


def test_of_very_many_numbers_none_is_left_that_could_be_taken_off(monkeypatch):
    monkeypatch.setattr(least_packs, "MOST_COMBINATIONS", 4)
    tens, threes = (options_of([kind(size, range(9), lambda _: 1)]) for size in (10, 3))

    def is_enough(choice):
        return 10 * choice[0] + 10 * choice[1] + 3 * choice[2] >= 40

    found = least_choice([tens, tens, threes], is_enough)

    assert is_enough(found)
    for place, count in enumerate(found):
        fewer = (*found[:place], count - 1, *found[place + 1 :])
        assert not count or not is_enough(fewer)


@pytest.mark.parametrize("free", [range(4), [0, 2, 4]])
def test_what_is_free_is_left_off_where_it_is_not_needed(free):
    for_nothing = options_of([kind(1, free, lambda _: 0)])
    paid = options_of([kind(1, range(3), lambda _: 1)])

    found = least_choice([for_nothing, paid], lambda choice: choice[1] >= 2)

    assert found == (0, 2)
