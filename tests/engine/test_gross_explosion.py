"""The bare sweep against other ways to the same figures, on random recipes."""

import itertools

import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.demand.bill import low_level_codes
from planning.engine.demand.explosion import explode
from planning.engine.demand.prepared import prepare
from planning.engine.kitchen import NodeKind
from planning.errors import RecipeCycleError
from tests.engine import recursive_sql
from tests.engine.gross import gross_needs
from tests.engine.small_kitchen import SmallKitchen, day, demand_of, window

AMOUNTS = st.floats(0.01, 100.0)


@st.composite
def kitchens(draw, *, max_lead_days=0, max_loss=0.5, batch_steps=(0.0,)):
    """A kitchen whose recipes take only what stands before them."""
    small = SmallKitchen(
        closed_weekdays=frozenset(draw(st.sets(st.integers(0, 6), max_size=3)))
        if max_lead_days
        else frozenset()
    )
    names = [f"item {number}" for number in range(draw(st.integers(1, 4)))]
    for name in names:
        small.item(name)
    for number in range(draw(st.integers(1, 7))):
        lines = draw(st.dictionaries(st.sampled_from(names), AMOUNTS, max_size=4))
        small.recipe(
            f"recipe {number}",
            {name: (amount, draw(st.sampled_from([1.0, 0.8])))
             for name, amount in lines.items()},
            yields=draw(AMOUNTS),
            loss=draw(st.floats(0.0, max_loss)),
            lead_days=draw(st.integers(0, max_lead_days)),
            batch_step=draw(st.sampled_from(batch_steps)),
            keeps_days=draw(st.integers(1, 9)),
        )  # fmt: skip
        names.append(f"recipe {number}")
    for number in range(draw(st.integers(1, 3))):
        lines = draw(st.dictionaries(st.sampled_from(names), AMOUNTS, max_size=4))
        small.cake(f"cake {number}", lines)
        for order in range(draw(st.integers(1, 3))):
            due = day(draw(st.integers(0, 9)))
            small.plan(f"{number}-{order}", f"cake {number}", due, draw(AMOUNTS))
    return small


def dense_needs(kitchen):
    """Return (I - A)^-1 of the planned cakes: A[i, j] is what one unit of j takes."""
    nodes, lines = kitchen.nodes, kitchen.lines
    count = len(nodes.names)
    per_unit = np.where(
        nodes.kind == NodeKind.MADE, nodes.yield_base * (1 - nodes.loss_fraction), 1.0
    )
    takes = np.zeros((count, count))
    for recipe, component, amount, kept in zip(
        lines.recipe,
        lines.component,
        lines.quantity_base,
        lines.yield_fraction,
        strict=True,
    ):
        takes[component, recipe] += amount / kept / per_unit[recipe]
    wanted = np.zeros(count)
    np.add.at(wanted, kitchen.cakes.cake, kitchen.cakes.quantity)
    return np.linalg.solve(np.eye(count) - takes, wanted)


@settings(max_examples=60, deadline=None)
@given(kitchens())
def test_sums_over_days_are_those_of_the_dense_matrix(small):
    kitchen = small.build()

    needed = gross_needs(prepare(kitchen, window())).sum(axis=1)

    np.testing.assert_allclose(needed, dense_needs(kitchen), rtol=1e-9, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(kitchens(max_lead_days=3))
def test_lead_times_move_needs_and_change_no_sum(small):
    kitchen = small.build()

    needed = gross_needs(prepare(kitchen, window())).sum(axis=1)

    np.testing.assert_allclose(needed, dense_needs(kitchen), rtol=1e-9, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(kitchens(max_lead_days=3))
def test_a_recursive_query_finds_the_same_days_and_amounts(small):
    kitchen = small.build()
    prepared = prepare(kitchen, window())

    by_query = recursive_sql.gross(recursive_sql.connect(kitchen, window()))

    needed = gross_needs(prepared)
    bought = np.flatnonzero(kitchen.nodes.kind == NodeKind.BOUGHT)
    places, columns = np.nonzero(needed[bought] > 0)
    found = {
        (int(bought[place]), column): needed[bought[place], column]
        for place, column in zip(places.tolist(), columns.tolist(), strict=True)
    }
    assert found.keys() == by_query.keys()
    for key, amount in by_query.items():
        assert found[key] == pytest.approx(amount, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(kitchens(max_lead_days=3))
def test_without_stock_and_steps_a_plan_is_the_gross_explosion(small):
    kitchen = small.build()
    prepared = prepare(kitchen, window(days=400))

    explosion = explode(kitchen, window(days=400))

    assert explosion.figures.needed_base == pytest.approx(gross_needs(prepared))


@settings(max_examples=100, deadline=None)
@given(kitchens(max_lead_days=3, batch_steps=(0.0, 0.5, 1.0)), st.data())
def test_what_is_made_and_what_lay_ready_is_what_is_used_left_over_or_gone(small, data):
    for number in range(3):
        use_by = data.draw(st.none() | st.integers(-1, 9).map(day))
        recipe = data.draw(st.sampled_from(sorted(small.nodes)))
        if recipe.startswith("recipe"):
            small.stock(recipe, data.draw(AMOUNTS) * (number + 1), use_by)
    kitchen = small.build()

    figures = explode(kitchen, window(days=400)).figures

    nodes = kitchen.nodes
    made = nodes.kind == NodeKind.MADE
    net = figures.net_base[made].sum(axis=1)
    needed = figures.needed_base[made].sum(axis=1)
    given_out = figures.batches[made].sum(axis=1)
    given_out *= nodes.yield_base[made] * (1 - nodes.loss_fraction[made])
    surplus = figures.surplus_base[made].sum(axis=1)
    ready = np.zeros(len(nodes.names))
    np.add.at(ready, kitchen.lots.node, kitchen.lots.amount_base)
    # What is made is net need and surplus; nothing serves more than there was.
    np.testing.assert_allclose(given_out, net + surplus, rtol=2e-6, atol=1e-9)
    assert (needed - net <= ready[made] + surplus + 1e-6 * (1 + needed)).all()
    assert (net <= needed + 1e-9).all()
    # Batches are whole steps.
    steps = nodes.batch_step[made]
    stepped = steps > 0
    in_steps = figures.batches[made][stepped] / steps[stepped][:, np.newaxis]
    np.testing.assert_allclose(in_steps, np.round(in_steps), atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(kitchens(max_lead_days=2, batch_steps=(0.0, 0.5)))
def test_every_need_has_a_cake_behind_it(small):
    kitchen = small.build()

    explosion = explode(kitchen, window())

    references = set(kitchen.cakes.references)
    for name, days in demand_of(kitchen, explosion).items():
        for number in days:
            behind = explosion.cakes_behind(small.index(name), [day(number)])
            assert behind
            assert set(behind) <= references


EDGES = st.lists(
    st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=16, unique=True
)


@given(EDGES)
def test_low_level_codes_are_longest_ways_down_or_a_circle_is_named(edges):
    graph = networkx.DiGraph(edges)
    graph.add_nodes_from(range(8))
    parents, children = (
        np.array([edge[side] for edge in edges], dtype=np.int64) for side in (0, 1)
    )
    names = [str(node) for node in range(8)]

    if networkx.is_directed_acyclic_graph(graph):
        codes = low_level_codes(parents, children, names).tolist()
        levels = networkx.topological_generations(graph)
        assert codes == [
            level
            for _, level in sorted(
                (node, level) for level, group in enumerate(levels) for node in group
            )
        ]
        return
    with pytest.raises(RecipeCycleError) as caught:
        low_level_codes(parents, children, names)
    path = [int(name) for name in caught.value.path]
    assert path[0] == path[-1]
    assert all(edge in graph.edges for edge in itertools.pairwise(path))
