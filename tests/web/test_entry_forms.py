from datetime import date, time
from decimal import Decimal

import pytest
from django.http import QueryDict

from planning.entry.sheets import BAKE_PLAN, RECIPE_LINES, STOCK
from stock.entry.entries import EntryFaultsError, Fault, Kept
from stock.errors import StockError
from stock.saving.sheets import ITEMS, PACKS, PLACES, SUPPLIERS
from stock.web.forms.entry_forms import EntryForm, NameList, keep_from_form


def sent(text):
    return QueryDict(text)


def test_an_entry_is_what_was_typed():
    form = EntryForm(PLACES, sent("place=+Walk-in+&walk_order=3"))

    assert form.entry() == {"place": "Walk-in", "walk_order": "3"}


def test_a_box_without_a_tick_says_no():
    columns = ["item", "pack", "preferred"]

    ticked = EntryForm(PACKS, sent("item=milk&pack=jug&preferred=on"), columns=columns)
    empty = EntryForm(PACKS, sent("item=milk&pack=jug"), columns=columns)

    assert ticked.entry() == {"item": "milk", "pack": "jug", "preferred": "yes"}
    assert empty.entry() == {"item": "milk", "pack": "jug", "preferred": "no"}


def test_ticked_weekdays_are_one_text():
    form = EntryForm(
        SUPPLIERS,
        sent("delivery_days=Tue&delivery_days=Fri"),
        columns=["delivery_days"],
    )

    assert form.entry() == {"delivery_days": "Tue Fri"}


def test_a_field_that_was_not_sent_is_not_in_the_entry():
    form = EntryForm(PLACES, sent("place=Walk-in"))

    assert form.entry() == {"place": "Walk-in"}


def test_long_text_keeps_its_lines_and_no_carriage_returns():
    form = EntryForm(BAKE_PLAN, sent("note=no+nuts%0D%0Aring+first"), columns=["note"])

    assert form.entry() == {"note": "no nuts\nring first"}


def test_what_the_page_decides_is_in_the_entry_and_not_on_the_form():
    form = EntryForm(
        PACKS,
        sent("pack=jug&supplier=Somebody+else"),
        columns=["supplier", "pack"],
        fixed={"supplier": "Valley Dairy"},
    )

    assert list(form.fields) == ["pack"]
    assert form.entry() == {"pack": "jug", "supplier": "Valley Dairy"}


def test_many_entries_of_one_page_are_told_apart_by_their_prefix():
    data = sent("line-1-component=milk&line-2-component=flour")

    forms = [
        EntryForm(RECIPE_LINES, data, columns=["component"], prefix=f"line-{number}")
        for number in (1, 2)
    ]

    assert [form.entry() for form in forms] == [
        {"component": "milk"},
        {"component": "flour"},
    ]


@pytest.mark.parametrize(
    ("sheet", "column", "markup"),
    [
        (BAKE_PLAN, "due", 'type="date"'),
        (BAKE_PLAN, "due_time", 'type="time"'),
        (BAKE_PLAN, "quantity", 'inputmode="numeric"'),
        (PACKS, "price", 'inputmode="decimal"'),
        (PACKS, "gtin", 'inputmode="numeric"'),
        (BAKE_PLAN, "status", "<select"),
        (BAKE_PLAN, "note", "<textarea"),
        (PACKS, "preferred", 'type="checkbox"'),
    ],
)
def test_each_kind_has_the_field_that_suits_it(sheet, column, markup):
    form = EntryForm(sheet, columns=[column])

    assert markup in str(form[column])


@pytest.mark.parametrize(
    ("sheet", "column", "value", "markup"),
    [
        (SUPPLIERS, "cutoff_time", time(14, 0), 'value="14:00"'),
        (BAKE_PLAN, "due", date(2026, 5, 9), 'value="2026-05-09"'),
        (PACKS, "price", Decimal("92.5000"), 'value="92.5"'),
        (PACKS, "preferred", True, "checked"),
        (ITEMS, "kind", "packaging", '<option value="packaging" selected>'),
        (SUPPLIERS, "delivery_days", "Tue Fri", 'value="Fri" id='),
        (PLACES, "place", 'The "cold" <room>', "The &quot;cold&quot; &lt;room&gt;"),
    ],
)
def test_what_is_stored_stands_in_the_field(sheet, column, value, markup):
    form = EntryForm(sheet, columns=[column], values={column: value})

    assert markup in str(form[column])


def test_only_the_days_of_the_truck_are_ticked():
    form = EntryForm(SUPPLIERS, values={"delivery_days": "Tue Fri"})

    assert str(form["delivery_days"]).count("checked") == 2


def test_a_stored_no_leaves_the_box_empty():
    form = EntryForm(PACKS, values={"preferred": False}, columns=["preferred"])

    assert "checked" not in str(form["preferred"])


def test_a_new_form_starts_with_the_defaults_of_its_columns():
    form = EntryForm(PACKS, columns=["minimum_packs", "price"])

    assert form["minimum_packs"].value() == "1"
    assert form["price"].value() == ""


def test_known_names_are_offered_and_escaped():
    names = {"place": NameList("places", ["Walk-in", 'a "<b>"'])}

    markup = str(EntryForm(ITEMS, columns=["place"], names=names)["place"])

    assert 'list="places"' in markup
    assert '<option value="Walk-in">' in markup
    assert "<b>" not in markup


def refuse(*faults):
    def keep(entries, **options):
        raise EntryFaultsError(faults)

    return keep


def test_a_refusal_stands_beside_its_field_and_the_entry_stays():
    form = EntryForm(PLACES, sent("place=Walk-in&walk_order=three"))

    kept = keep_from_form(
        form, refuse(Fault(1, "walk_order", "'three' isn't a number.", "Places"))
    )

    assert kept is None
    assert form.errors == {"walk_order": ["'three' isn't a number."]}
    assert form["walk_order"].value() == "three"
    assert 'aria-invalid="true"' in str(form["walk_order"])
    assert form.entry() == {"place": "Walk-in", "walk_order": "three"}


def test_a_refusal_about_no_field_of_the_form_stands_above_it():
    form = EntryForm(PLACES, sent("place=Walk-in"), columns=["place"])

    keep_from_form(form, refuse(Fault(1, "walk_order", "It must be 0 or more.")))

    assert form.non_field_errors() == ["Walk order: It must be 0 or more."]


def test_of_many_rows_each_form_takes_its_own_faults():
    data = sent("1-component=&2-component=flower")
    forms = {
        row: EntryForm(RECIPE_LINES, data, columns=["component"], prefix=str(row))
        for row in (1, 2)
    }
    error = EntryFaultsError(
        [Fault(2, "component", "There is no item.", "Recipe lines")]
    )

    for row, form in forms.items():
        form.take_faults(error, row=row)

    assert forms[1].errors == {}
    assert forms[2].errors == {"component": ["There is no item."]}


def test_any_other_refusal_is_said_above_the_form():
    def keep(entries):
        raise StockError("The cooler is locked.")

    form = EntryForm(PLACES, sent("place=Walk-in"))

    assert keep_from_form(form, keep) is None
    assert form.non_field_errors() == ["The cooler is locked."]


def test_a_job_gets_the_entry_and_its_answer_comes_back():
    def keep(entries, *, ids):
        assert entries == [{"place": "Walk-in", "walk_order": "2"}]
        assert ids == [7]
        return Kept(unchanged=1)

    form = EntryForm(PLACES, sent("place=Walk-in&walk_order=2"))

    assert keep_from_form(form, keep, ids=[7]) == Kept(unchanged=1)


def test_values_can_be_read_without_a_job():
    columns = ["item", "quantity", "place", "use_by", "lot"]
    good = EntryForm(STOCK, sent("item=milk&quantity=2+L&use_by="), columns=columns)
    bad = EntryForm(
        STOCK, sent("item=&quantity=2+L&use_by=2026-02-30"), columns=columns
    )

    assert good.read()["use_by"] is None
    assert bad.read() is None
    assert bad.errors == {
        "item": ["“Item” must not stay blank."],
        "use_by": ["There is no 2026-02-30 in the calendar."],
    }
