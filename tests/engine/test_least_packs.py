import itertools
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.trying import least_packs
from planning.engine.trying.least_packs import least_counts

# Lines of packs: what one holds, what it costs, and in which numbers it is sold.
LINE = st.tuples(
    st.integers(1, 12),
    st.integers(0, 30),
    st.tuples(st.integers(1, 3), st.integers(1, 3), st.integers(1, 5)).map(
        lambda terms: [0, *range(terms[0], terms[0] + terms[1] * terms[2], terms[1])]
    ),
)


def held(lines, counts):
    return sum(size * count for (size, _, _), count in zip(lines, counts, strict=True))


def cost(lines, counts):
    prices = (price * count for (_, price, _), count in zip(lines, counts, strict=True))
    return Decimal(sum(prices))


@settings(max_examples=300, deadline=None)
@given(lines=st.lists(LINE, min_size=1, max_size=3), share=st.floats(0.0, 1.0))
def test_no_other_numbers_that_are_enough_cost_less(lines, share):
    sold = [numbers for _, _, numbers in lines]
    need = int(share * held(lines, [numbers[-1] for numbers in sold]))

    found = least_counts(
        sold,
        is_enough=lambda counts: held(lines, counts) >= need,
        cost=lambda counts: cost(lines, counts),
    )

    enough = [
        counts for counts in itertools.product(*sold) if held(lines, counts) >= need
    ]
    assert found in enough
    assert cost(lines, found) == min(cost(lines, counts) for counts in enough)


def test_of_very_many_numbers_none_is_left_that_could_be_taken_off(monkeypatch):
    monkeypatch.setattr(least_packs, "MOST_COMBINATIONS", 4)

    # 10 x 5 + 3 x 8 are far more than 40: 40 of the first, or some of both.
    found = least_counts(
        [range(6), range(9)],
        is_enough=lambda counts: 10 * counts[0] + 3 * counts[1] >= 40,
        cost=lambda counts: Decimal(sum(counts)),
    )

    assert 10 * found[0] + 3 * found[1] >= 40
    assert 10 * (found[0] - 1) + 3 * found[1] < 40
    assert 10 * found[0] + 3 * (found[1] - 1) < 40


@pytest.mark.parametrize("free", [range(4), [0, 2, 4]])
def test_what_is_free_is_left_off_where_it_is_not_needed(free):
    found = least_counts(
        [free, range(3)],
        is_enough=lambda counts: counts[1] >= 2,
        cost=lambda counts: Decimal(counts[1]),
    )

    assert found == (0, 2)
