"""Everything in a file is stored or nothing is, and every faulty cell is named."""

import io
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.demo import build_sheets
from planning.interchange.errors import KitchenFaultsError
from planning.interchange.loading import load_kitchen, preview_kitchen
from planning.interchange.reading import read_kitchen
from planning.management.commands.load_kitchen import Command
from planning.models import OrderLine, PlannedCake, Recipe, RecipeLine
from stock.models import Bakery, Balance, Item, Movement, Pack, Place, Supplier
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db

TABLES = [Bakery, Place, Item, Supplier, Pack, Recipe, RecipeLine, PlannedCake]
KITCHENS = Path(__file__).parents[1] / "reference" / "kitchens"


def a_kitchen(**changes):
    """A small whole kitchen; a change replaces or adds the rows of a sheet."""
    kitchen = {
        "Settings": [{"setting": "bakery", "value": "Larch Lane"}],
        "Places": [{"place": "cooler", "walk_order": 1}],
        "Items": [
            {"item": "butter", "measure": "mass", "par": "2 case", "place": "cooler"},
            {"item": "eggs", "measure": "count", "par": ""},
        ],
        "Splits": [{"whole": "eggs", "part": "egg white", "yields": "33 g"}],
        "Suppliers": [
            {
                "supplier": "Dairy",
                "delivery_days": "Tue",
                "cutoff_days": 1,
                "cutoff_time": "14:00",
            }
        ],
        "Packs": [
            {
                "supplier": "Dairy",
                "item": "butter",
                "pack": "case 36 x 1 lb",
                "called": "case",
                "holds": "36 lb",
                "price": 130,
            }
        ],
        "Recipes": [
            {"recipe": "butter cake", "yields": "1 each", "is_cake": "yes"},
            {"recipe": "buttercream", "yields": "2 kg", "is_cake": ""},
        ],
        "Recipe lines": [
            {"recipe": "butter cake", "component": "buttercream", "quantity": "500 g"},
            {"recipe": "buttercream", "component": "butter", "quantity": "0.1 case"},
            {"recipe": "buttercream", "component": "egg white", "quantity": "8 each"},
        ],
        "Bake plan": [
            {
                "reference": "A-1",
                "due": "2026-05-09",
                "cake": "Butter Cake",
                "quantity": 1,
            }
        ],
        "Stock": [
            {"item": "butter", "quantity": "1 case + 2 lb", "place": "cooler"},
            {"item": "buttercream", "quantity": "1 kg", "place": ""},
        ],
        "Open orders": [
            {
                "order": "D-7",
                "supplier": "Dairy",
                "item": "butter",
                "pack": "case 36 x 1 lb",
                "packs": 2,
                "due": date(2026, 5, 12),
            }
        ],
    }
    return kitchen | {name.replace("_", " "): rows for name, rows in changes.items()}


def changed(sheet, row, **cells):
    """The kitchen with some cells of one row changed; rows count from 2."""
    rows = [dict(each) for each in a_kitchen()[sheet]]
    rows[row - 2] |= cells
    return a_kitchen(**{sheet: rows})


def faults_of(kitchen):
    with pytest.raises(KitchenFaultsError) as error:
        load_kitchen(kitchen, at=NOON)
    return [str(fault) for fault in error.value.faults]


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


def test_every_faulty_cell_is_named_in_the_order_of_the_sheets_and_nothing_is_stored():
    before = [table.objects.count() for table in TABLES]
    kitchen = a_kitchen(
        Bake_plan=[
            {"reference": "A", "due": "2026-02-30", "cake": "butter cake"},
            {"reference": "B", "due": "2026-05-09", "cake": "butter cak"},
        ],
        Recipes=[
            {"recipe": "butter cake", "yields": "1 each", "is_cake": "yes"},
            {"recipe": "buttercream", "yields": "0 g", "loss_percent": 100},
        ],
        Places=[{"walk_order": "first", "place": "cooler"}],
    )

    faults = faults_of(kitchen)

    assert [fault.partition(": ")[0] for fault in faults] == [
        "Places!A2",
        "Recipes!B3",
        "Recipes!D3",
        "Bake plan!A1",
        "Bake plan!B2",
        "Bake plan!C3",
    ]
    assert faults[3].startswith('Bake plan!A1: There is no column "quantity".')
    assert faults[4] == "Bake plan!B2: There is no 2026-02-30 in the calendar."
    assert faults[5].endswith(
        'There is no cake "butter cak". Did you mean butter cake?'
    )
    assert [table.objects.count() for table in TABLES] == before
    assert not Movement.objects.exists()


@pytest.mark.parametrize(
    ("sheet", "row", "cells", "cell"),
    [
        ("Settings", 2, {"value": ""}, "Settings!B2"),
        ("Places", 2, {"walk_order": -1}, "Places!B2"),
        ("Items", 2, {"measure": "weight"}, "Items!B2"),
        ("Items", 2, {"own_units": "case = 4 blobs"}, "Items!E2"),
        ("Suppliers", 2, {"cutoff_time": "25:00"}, "Suppliers!D2"),
        ("Packs", 2, {"holds": "36 blobs"}, "Packs!E2"),
        ("Packs", 2, {"price": "12,50"}, "Packs!F2"),
        ("Recipes", 3, {"yields": "2 blobs"}, "Recipes!B3"),
    ],
)
def test_one_mistake_is_one_sentence(sheet, row, cells, cell):
    faults = faults_of(changed(sheet, row, **cells))

    assert [fault.partition(": ")[0] for fault in faults] == [cell]


@pytest.mark.parametrize(
    ("sheet", "cells", "fault"),
    [
        (
            "Items",
            {"item": "buttercream", "measure": "mass"},
            "Recipes!A3: The name buttercream is taken, and not by a recipe.",
        ),
        (
            "Splits",
            {"whole": "egg white", "part": "lysozyme", "yields": "1 g"},
            "Splits!A3: egg white: a part, not a bought item.",
        ),
        (
            "Packs",
            {
                "supplier": "Dairy",
                "item": "buttercream",
                "pack": "tub",
                "holds": "1 kg",
                "price": 9,
            },
            "Packs!B3: buttercream: a recipe, not a bought item.",
        ),
        (
            "Stock",
            {"item": "BUTTER", "quantity": "1 lb", "place": "Cooler"},
            "Stock!A4: BUTTER, Cooler is in row 2 already.",
        ),
    ],
)
def test_one_row_too_many_is_one_sentence(sheet, cells, fault):
    faults = faults_of(a_kitchen(**{sheet: [*a_kitchen()[sheet], cells]}))

    assert [each[: len(fault)] for each in faults] == [fault]


def test_one_mistake_is_one_sentence_where_the_item_was_there_before():
    load_kitchen(a_kitchen(), at=NOON)
    kitchen = changed("Items", 2, own_units="tub = 4 blobs", par="2 tub")
    kitchen["Recipe lines"][1]["quantity"] = "1 tub"
    kitchen["Stock"][0]["quantity"] = "3 tub"

    faults = faults_of(kitchen)

    assert [fault.partition(": ")[0] for fault in faults] == ["Items!E2"]


@pytest.mark.parametrize(
    ("sheet", "row", "cells", "cell"),
    [
        ("Items", 2, {"par": "2 blobs"}, "Items!C2"),
        ("Recipe lines", 3, {"quantity": "2 blobs"}, "Recipe lines!C3"),
        ("Stock", 2, {"quantity": "2 blobs"}, "Stock!B2"),
        ("Open orders", 2, {"pack": "case"}, "Open orders!D2"),
    ],
)
def test_a_quantity_without_a_meaning_is_named(sheet, row, cells, cell):
    faults = faults_of(changed(sheet, row, **cells))

    assert [fault.partition(": ")[0] for fault in faults] == [cell]


def test_a_quantity_that_cannot_be_read_is_named_beside_its_faulty_pack():
    kitchen = changed("Packs", 2, holds="36 blobs")
    kitchen["Recipe lines"][1]["quantity"] = "0,1 case"
    kitchen["Stock"][0]["quantity"] = "1 case"

    cells = [fault.partition(": ")[0] for fault in faults_of(kitchen)]

    assert cells == ["Packs!E2", "Recipe lines!C3"]


def test_a_row_that_is_there_twice_and_a_recipe_in_itself_are_named():
    kitchen = a_kitchen()
    kitchen["Places"].append({"place": "Cooler"})
    kitchen["Recipe lines"][2] |= {"component": "buttercream", "quantity": "1 kg"}

    faults = faults_of(kitchen)

    assert faults[0] == "Places!A3: Cooler is in row 2 already."
    assert faults[1].startswith("Recipe lines!")
    assert "buttercream -> buttercream" in faults[1]
    assert len(faults) == 2


def test_a_faulty_layout_is_told_with_what_each_cell_says_wrong_for_itself():
    kitchen = a_kitchen(Recipies=[{"recipe": "sponge"}])
    kitchen["Packs"][0] |= {"price": "much", "item": "nobody knows it"}

    assert [fault.partition(": ")[0] for fault in faults_of(kitchen)] == [
        "Recipies!A1",
        "Packs!F2",
    ]


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


# The command.


def run(*arguments):
    out = io.StringIO()
    call_command("load_kitchen", *arguments, stdout=out)
    return out.getvalue().splitlines()


def test_the_command_says_what_became_of_each_sheet():
    path = str(KITCHENS / "butter_cake")

    preview = run(path, "--preview")
    first = run(path)
    second = run(path)

    assert preview[-1] == "Nothing was stored: this is what would be."
    assert "Places: 2 added." in first
    assert first[-1] == "All of it is stored."
    assert second[-1] == "Nothing changes: all of it is stored already."


def test_the_moment_of_the_command_is_local_to_the_file_s_own_time_zone(tmp_path):
    (tmp_path / "Settings.csv").write_text("setting,value\ntime_zone,Asia/Tokyo\n")
    (tmp_path / "Items.csv").write_text("item,measure\nbutter,mass\n")
    (tmp_path / "Stock.csv").write_text("item,quantity\nbutter,2 kg\n")

    run(str(tmp_path), "--at", "2026-05-04T21:00")

    assert Movement.objects.get().at == NOON


def test_the_command_refuses_with_every_faulty_cell(tmp_path):
    (tmp_path / "Places.csv").write_text("place,walk_order\nshelf,x\nbin,y\n")

    with pytest.raises(CommandError) as error:
        run(str(tmp_path))

    assert error.value.returncode == 2
    assert "Places!B2:" in str(error.value)
    assert "Places!B3:" in str(error.value)
    assert not Place.objects.exists()


def test_the_command_refuses_a_moment_at_the_end_of_time():
    with pytest.raises(CommandError, match="is too far away") as error:
        run(str(KITCHENS / "butter_cake"), "--at", "9999-12-31T23:59")

    assert error.value.returncode == 2


def test_a_terminal_shows_a_line_for_each_faulty_cell(tmp_path, capsys):
    (tmp_path / "Places.csv").write_text("place,walk_order\nshelf,x\nbin,y\n")

    first, second = refused_lines(str(tmp_path), capsys)

    assert first.startswith("Places!B2:")
    assert second.startswith("Places!B3:")


def test_a_file_whose_name_breaks_the_line_is_one_line_too(tmp_path, capsys):
    lines = refused_lines(f"{tmp_path}/spring\nmenu.csv", capsys)

    assert lines == [
        "spring menu.csv is one sheet alone. Put the CSV files of a kitchen into one "
        "folder, and name the folder."
    ]


def refused_lines(path, capsys):
    command = Command()
    command._is_from_terminal = True
    with pytest.raises(SystemExit) as stopped:
        call_command(command, path)
    assert stopped.value.code == 2
    return capsys.readouterr().err.splitlines()
