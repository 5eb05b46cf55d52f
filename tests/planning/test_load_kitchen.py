"""What is stored of a file, the first time and again, and what a preview says."""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen, preview_kitchen
from planning.interchange.reading import read_kitchen
from planning.interchange.report_words import sheet_sentences
from planning.models import OrderLine, PlannedCake, RecipeLine
from stock.models import Balance, Item, Movement, Pack, Place
from tests import build
from tests.build import NOON
from tests.planning.small_sheets import a_kitchen, changed, faults_of

pytestmark = pytest.mark.django_db

KITCHENS = Path(__file__).parents[1] / "reference" / "kitchens"


def test_every_sheet_is_stored_wherever_its_words_are_defined():
    report = load_kitchen(a_kitchen(), at=NOON)

    assert report.added == 15
    assert report.changed == 1  # the bakery's name
    butter = Item.objects.get(name="butter")
    # A case is 36 lb of 453.59237 g: two are 32,658.65064 g.
    assert butter.par_base == pytest.approx(32_658.65064)
    line = RecipeLine.objects.get(component=butter)
    assert line.quantity_base == pytest.approx(1_632.932532)
    assert OrderLine.objects.get().due_on == date(2026, 5, 12)
    assert PlannedCake.objects.get().cake.item.name == "butter cake"


def test_stock_goes_through_the_ledger_at_the_moment_given():
    ada = build.user()

    load_kitchen(a_kitchen(), at=NOON, by=ada)

    butter = Movement.objects.get(item__name="butter")
    # 38 lb of 453.59237 g are 17,236.51006 g, which the ledger keeps to 4 places.
    assert butter.amount_base == Decimal("17236.5101")
    assert (butter.kind, butter.at, butter.by) == ("imported", NOON, ada)
    assert butter.place.name == "cooler"


def test_a_fraction_of_stock_is_no_supplier_s_pack():
    kitchen = a_kitchen(Stock=[{"item": "butter", "quantity": "12/32 oz"}])

    load_kitchen(kitchen, at=NOON)

    # 3/8 oz of 28.349523125 g
    assert Movement.objects.get().amount_base == Decimal("10.6311")


@pytest.mark.parametrize("name", sorted(path.name for path in KITCHENS.iterdir()))
def test_the_same_file_changes_nothing_the_second_time(name):
    kitchen = read_kitchen(KITCHENS / name)
    first = load_kitchen(kitchen, at=NOON)

    second = load_kitchen(kitchen, at=NOON + timedelta(hours=1))

    assert not first.changes_nothing
    assert second.changes_nothing
    assert second.unchanged == first.added + first.changed + first.unchanged


def test_the_demo_kitchen_loads_from_memory():
    sheets = build_sheets(date(2026, 5, 4))

    report = load_kitchen(sheets, at=NOON)

    rows = sum(len(rows) for rows in sheets.values())
    assert report.added + report.changed + report.unchanged == rows
    assert load_kitchen(sheets, at=NOON).changes_nothing


def test_what_a_file_leaves_out_stays_as_it_is():
    load_kitchen(a_kitchen(), at=NOON)

    report = load_kitchen(
        {"Items": [{"item": "BUTTER ", "par": "3 case"}]}, at=NOON + timedelta(hours=1)
    )

    (change,) = report.kept_by_sheet["Items"].changed
    assert (change.key, change.column) == ("butter", "par")
    assert (change.before, change.after) == ("2 case", "3 case")
    assert Item.objects.get(name="butter").place.name == "cooler"
    assert Item.objects.count() == 5


def test_a_later_count_is_the_difference_to_what_was_there():
    load_kitchen(a_kitchen(), at=NOON)

    stock = [{"item": "butter", "quantity": "1 case", "place": "cooler"}]
    report = load_kitchen({"Stock": stock}, at=NOON + timedelta(days=1))

    (change,) = report.kept_by_sheet["Stock"].changed
    assert (change.before, change.after) == ("17236.5101 g", "16329.3253 g")
    assert Balance.objects.get(item__name="butter").amount_base == Decimal("16329.3253")


def test_a_required_column_may_lack_while_no_row_is_new():
    load_kitchen(a_kitchen(), at=NOON)
    cheaper = {"supplier": "Dairy", "item": "butter", "pack": "case 36 x 1 lb"}

    report = load_kitchen({"Packs": [{**cheaper, "price": 120}]}, at=NOON)

    assert report.changed == 1
    assert Pack.objects.get().price == 120
    new = [{**cheaper, "pack": each, "price": 1} for each in ("half", "third")]
    (fault,) = faults_of({"Packs": new})
    assert fault.startswith('Packs!A1: There is no column "holds". Dairy, butter, half')
    assert fault.endswith("1 more of its rows need it too.")


def test_a_preview_says_what_would_happen_and_stores_nothing():
    load_kitchen(a_kitchen(), at=NOON)
    kitchen = changed("Items", 2, par="3 case")
    kitchen["Places"] = [{"place": "freezer"}, {"place": "cooler", "walk_order": "x"}]

    report = preview_kitchen(kitchen, at=NOON)

    assert report.kept_by_sheet["Places"].added == ("freezer",)
    assert report.kept_by_sheet["Items"].changed_keys == ("butter",)
    assert [fault.cell for fault in report.faults] == ["Places!B3"]
    assert Item.objects.get(name="butter").par == "2 case"
    assert not Place.objects.filter(name="freezer").exists()


def test_a_preview_counts_every_row_of_a_sheet_once():
    load_kitchen(a_kitchen(), at=NOON)
    kitchen = changed("Items", 2, par="3 case")
    kitchen["Items"] += [{"item": "salt", "measure": "mass", "par": "2 pails"}]
    kitchen["Stock"] += [
        {"item": "salt", "quantity": "2 lb"},
        {"item": "butter", "quantity": "a few"},
    ]

    report = preview_kitchen(kitchen, at=NOON)

    counted = {
        sheet: len(kept.added) + len(kept.changed_keys) + kept.unchanged + kept.faulty
        for sheet, kept in report.kept_by_sheet.items()
    }
    assert counted == {sheet: len(rows) for sheet, rows in kitchen.items()}
    said = dict(line.split(": ") for line in sheet_sentences(report))
    assert said["Items"] == "1 changed, 1 unchanged, 1 faulty."
    assert report.kept_by_sheet["Stock"].faulty == 1


def test_a_preview_has_the_fingerprint_of_what_is_stored_then():
    preview = preview_kitchen(a_kitchen(), at=NOON)
    other = preview_kitchen(changed("Items", 2, par="3 case"), at=NOON)

    assert preview.fingerprint() == load_kitchen(a_kitchen(), at=NOON).fingerprint()
    assert preview.fingerprint() != preview_kitchen(a_kitchen(), at=NOON).fingerprint()
    assert other.added == preview.added


def many_of_everything(count):
    kitchen = a_kitchen()
    for sheet, column in [("Items", "item"), ("Recipes", "recipe")]:
        kitchen[sheet] += [
            {**kitchen[sheet][-1], column: f"{column} {number}"}
            for number in range(count)
        ]
    kitchen["Recipe lines"] += [
        {
            "recipe": f"recipe {number}",
            "component": f"item {number}",
            "quantity": "2 each",
        }
        for number in range(count)
    ]
    kitchen["Stock"] += [
        {"item": f"item {number}", "quantity": "1 each", "place": "cooler"}
        for number in range(count)
    ]
    return kitchen


@pytest.mark.django_db(transaction=True)
def test_a_larger_kitchen_takes_no_more_queries():
    queries = []
    for count in (5, 30):
        with CaptureQueriesContext(
            connection,
        ) as captured:
            preview_kitchen(many_of_everything(count), at=NOON)
        queries.append(len(captured))

    assert queries[0] == queries[1]
