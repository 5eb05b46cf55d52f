"""Any kitchen goes out as a workbook or files and comes in as the same."""

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planning.interchange.dumping import dump_kitchen
from planning.interchange.loading import load_kitchen
from planning.interchange.reading import read_kitchen
from tests.build import NOON

pytestmark = pytest.mark.django_db


# What an optional column may hold beside blank, in any kitchen of the test below.
MAY_HOLD = {
    "Items": {
        "par": ["3 kg", "2 jug", "1½ cup"],
        "safety": ["0.5 kg"],
        "keeps_days": [1, 400],
        "place": ["cooler"],
        "allergens": ["milk", "milk; soy"],
        "minimum_days_left": [0, 3],
        "cold": ["yes"],
        "opened_keeps_days": [1],
        "frozen_keeps_days": [30],
        "thawed_keeps_days": [2],
        "retired": ["yes"],
    },
    "Suppliers": {
        "kind": ["shop", "delivers"],
        "contact": ["=Ines", "0042"],
        "account": ["0042", "1e5"],
        "phone": ["+1 555 0100"],
        "cutoff_days": ["0", "3", "Tue 4; Fri 2"],
        "usable": ["same day", "next day"],
        "minimum_order": ["150", "99.95"],
        "free_delivery_from": ["0", "400"],
        "closed_on": ["2026-05-08", "2026-05-08; 2026-12-25"],
        "retired": ["yes"],
    },
    "Packs": {
        "called": ["case", "crate"],
        "price_breaks": ["10: 92.50; 20: 90"],
        "minimum_packs": [1, 3],
        "multiple": [2],
        "gtin": ["02345673"],
        "retired": ["yes"],
    },
    "Recipes": {
        "batch_step": ["0.5", "1"],
        "largest_batch": ["2"],
        "loss_percent": ["2.5"],
        "keeps_days": [1, 30],
        "holding": ["cold"],
        "caps_use_by": ["yes"],
        "retired": ["yes"],
    },
    "Substitutes": {
        "ratio": ["3/4 cup for 1 cup", "1 kg for 2 lb"],
        "source": ["a note"],
        "note": ["softer"],
    },
    "Settings": {
        "par_days": ["Fri", "Mon Thu"],
        "address": ["1 Mill Lane\nBack"],
        "phone": ["555"],
        "delivery_note": ["'quoted"],
        "closed_on": ["2026-12-25"],
    },
}


def filled(draw, sheet, row):
    """A row with some of its optional cells filled."""
    for column, values in MAY_HOLD[sheet].items():
        value = draw(st.sampled_from([None, *values]))
        if value is not None:
            row[column] = value
    return row


@st.composite
def kitchens(draw):
    names = draw(
        st.lists(
            st.sampled_from(["flour", "Crème", "'quoted", "0012", "=1+1"]),
            min_size=2,
            max_size=4,
            unique=True,
        )
    )
    base = {
        "measure": "mass",
        "equivalents": "1 cup = 200 g",
        "own_units": "jug = 2 kg",
    }
    items = [filled(draw, "Items", {"item": name, **base}) for name in names]
    suppliers = [
        filled(
            draw,
            "Suppliers",
            {"supplier": name, "delivery_days": "Tue Fri", "cutoff_days": "1"}
            | {"cutoff_time": "14:00"},
        )
        for name in ("Mill", "Corner")
    ]
    packs = []
    for name in names:
        for supplier in draw(st.sets(st.sampled_from(["Mill", "Corner"]))):
            row = {"supplier": supplier, "item": name, "pack": "sack", "holds": "5 kg"}
            row = filled(draw, "Packs", row | {"price": "12.34"})
            if draw(st.booleans()):
                row |= {"next_price": "13", "next_price_from": "2026-06-01"}
            packs.append(row)
    orders = [
        {"order": f"PO-{number}", "due": "2026-05-08"}
        | {column: pack[column] for column in ("supplier", "item", "pack")}
        | {"packs": 4, "received_packs": draw(st.integers(0, 3))}
        for number, pack in enumerate(packs[:2])
    ]
    recipe = filled(draw, "Recipes", {"recipe": "filling", "yields": "2 kg"})
    pair = {"item": names[0], "substitute": names[1]}
    settings_ = filled(draw, "Settings", {})
    return {
        "Settings": [{"setting": k, "value": v} for k, v in settings_.items()],
        "Places": [{"place": "cooler", "walk_order": draw(st.integers(0, 9))}],
        "Items": items,
        "Suppliers": suppliers,
        "Packs": packs,
        "Recipes": [recipe],
        "Recipe lines": [
            {"recipe": "filling", "component": name, "quantity": "100 g"}
            for name in names
        ],
        "Stock": [
            {
                "item": name,
                "quantity": "1 kg",
                "place": "cooler",
                "use_by": "2026-05-20",
            }
            for name in draw(st.sets(st.sampled_from(names)))
        ],
        "Open orders": orders,
        "Substitutes": [filled(draw, "Substitutes", pair)],
    }


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(kitchen=kitchens())
def test_any_kitchen_goes_out_and_comes_in_as_the_same(form, kitchen, tmp_path_factory):
    folder = tmp_path_factory.mktemp("kitchen")
    first, second = folder / f"first.{form}", folder / f"second.{form}"

    with transaction.atomic():
        load_kitchen(kitchen, at=NOON)
        before = dump_kitchen(form, first)
        assert load_kitchen(kitchen, at=NOON).changes_nothing
        transaction.set_rollback(True)
    with transaction.atomic():
        load_kitchen(read_kitchen(first), at=NOON)
        after = dump_kitchen(form, second)
        transaction.set_rollback(True)

    assert before == after
