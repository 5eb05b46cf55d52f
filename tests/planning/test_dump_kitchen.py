"""What goes out comes in again as the same kitchen, cell by cell."""

import random
from datetime import date, time
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from planning.demo import build_sheets
from planning.entry.sheets import SHEETS
from planning.interchange.dumping import dump_kitchen
from planning.interchange.errors import KitchenOutError
from planning.interchange.loading import load_kitchen
from planning.interchange.reading import read_kitchen
from planning.interchange.taking_out import kitchen_out
from planning.models import Order
from stock.saving.sheets import SETTING_COLUMNS
from tests import build, libreoffice
from tests.build import MONDAY, NOON
from tests.reference.random_kitchens import random_sheets

pytestmark = pytest.mark.django_db

KITCHENS = Path(__file__).parents[1] / "reference" / "kitchens"
BY_HAND = sorted(path.name for path in KITCHENS.iterdir())
RANDOM = [f"random {seed}" for seed in range(12)]
# Words that spreadsheet programs or CSV readers take for something else.
TRAPS = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "'=1+1",
    "''quoted",
    "'tis",
    "#N/A",
    "TRUE",
    "0012",
    "1e5",
    "2026-05-04",
    'quote "inch"',
    "crème, 40 %; ½",
    "_x0041_",
    "<b>&amp;",
]


def source(name):
    if name == "demo":
        return build_sheets(date(2026, 5, 4))
    if name.startswith("random"):
        return random_sheets(random.Random(int(name.split()[1])), size=10)
    return read_kitchen(KITCHENS / name)


def loaded_and_dumped(kitchen, form, path):
    """What comes out of an empty database that took a kitchen in; it is empty again."""
    with transaction.atomic():
        load_kitchen(kitchen, at=NOON)
        written = dump_kitchen(form, path)
        assert load_kitchen(read_kitchen(path), at=NOON).changes_nothing
        transaction.set_rollback(True)
    return written


def rows_out(sheet):
    (found,) = (each for each in kitchen_out().sheets if each.name == sheet)
    names = [column.name for column in found.sheet.columns]
    return [dict(zip(names, row, strict=True)) for row in found.rows]


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@pytest.mark.parametrize("name", ["demo", *BY_HAND, *RANDOM])
def test_out_and_in_and_out_again_gives_the_same_cells(name, form, tmp_path):
    first_path, second_path = tmp_path / f"first.{form}", tmp_path / f"second.{form}"

    first = loaded_and_dumped(source(name), form, first_path)
    second = loaded_and_dumped(read_kitchen(first_path), form, second_path)

    assert first == second
    assert read_kitchen(first_path) == read_kitchen(second_path)
    assert first.left_out == ()


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_typed_text_comes_back_as_typed(form, tmp_path):
    for number, words in enumerate(TRAPS):
        build.planned_cake(reference=f"{number:02}", note=words)

    dump_kitchen(form, tmp_path / f"kitchen.{form}")

    cells = read_kitchen(tmp_path / f"kitchen.{form}").sheets["Bake plan"].entries
    assert [cell["note"] for cell in cells] == TRAPS


def test_quantities_stay_as_they_were_typed(tmp_path):
    words = ["1½ dozen", "3 1/2 lb + 2 oz", "0.40 kg"]
    for number, typed in enumerate(words):
        measure = "count" if "dozen" in typed else "mass"
        row = {"item": f"item {number}", "measure": measure, "par": typed}
        load_kitchen({"Items": [row]}, at=NOON)

    assert [row["par"] for row in rows_out("Items")] == words


def test_stock_is_the_exact_sum_of_lots_that_go_out_of_date_together():
    shelf = build.place("cooler")
    butter = build.item("butter", place=shelf)
    for lot, amount in [("B-1", "100.1234"), ("B-2", "0.0001"), ("", "200")]:
        build.stock(butter, amount, use_by=MONDAY, lot=lot)
    build.stock(butter, 50)
    build.stock(build.item("unknown", place=shelf), -10)
    empty = build.item("empty", place=shelf)
    build.stock(empty, 10)
    build.stock(empty, -10)

    assert [list(row.values()) for row in rows_out("Stock")] == [
        ["butter", "300.1235 g", "cooler", MONDAY, "B-1; B-2"],
        ["butter", "50 g", "cooler", None, None],
    ]
    assert kitchen_out().left_out == (
        "Unknown in cooler: the record is below zero, so its stock is left out. "
        "Count it.",
    )


def test_several_lots_in_one_row_are_no_change_when_they_come_back(tmp_path):
    butter = build.item("butter", place=build.place("cooler"))
    for lot in ("B-1", "B-2"):
        build.stock(butter, 100, use_by=MONDAY, lot=lot)
    dump_kitchen("xlsx", tmp_path / "kitchen.xlsx")

    report = load_kitchen(read_kitchen(tmp_path / "kitchen.xlsx"), at=NOON)

    assert report.changes_nothing


def test_what_is_retired_goes_along_and_says_so():
    supplier = build.supplier("Dairy")
    butter = build.item("butter")
    old = build.pack(butter, supplier, label="old", called="case", retired=True)
    build.pack(butter, supplier, label="older", called="case", retired=True)
    build.order(supplier, lines=[(old, 2)])
    build.order(supplier, state=Order.State.RECEIVED, lines=[(old, 2)])

    assert [
        (row["pack"], row["called"], row["retired"]) for row in rows_out("Packs")
    ] == [("old", "case", "yes"), ("older", "case", "yes")]
    assert [row["packs"] for row in rows_out("Open orders")] == [2]


def test_taking_a_kitchen_out_takes_the_same_queries_whatever_its_size(
    django_assert_max_num_queries,
):
    load_kitchen(source("wedding_season"), at=NOON)

    with django_assert_max_num_queries(20):
        kitchen_out()


# The files themselves.


def test_the_workbook_has_every_sheet_and_column_dates_and_numbers(tmp_path):
    load_kitchen(build_sheets(date(2026, 5, 4)), at=NOON)
    dump_kitchen("xlsx", tmp_path / "kitchen.xlsx")

    book = openpyxl.load_workbook(tmp_path / "kitchen.xlsx")

    assert book.sheetnames == [sheet.name for sheet in SHEETS]
    for sheet in SHEETS:
        header = [cell.value for cell in book[sheet.name][1]]
        assert header == [column.name for column in sheet.columns]
        assert book[sheet.name].freeze_panes == "A2"
    due = book["Bake plan"]["B2"]
    assert (due.is_date, due.number_format) == (True, "yyyy-mm-dd")
    assert isinstance(book["Suppliers"]["I2"].value, time)
    assert isinstance(book["Packs"]["G2"].value, int | float)
    assert book["Packs"]["F2"].number_format == "@"
    settings = dict(book["Settings"].iter_rows(min_row=2, values_only=True))
    assert settings["horizon_days"] == 14
    assert settings["leftover_worth"] == 0.9


def test_every_minute_of_the_day_comes_back(tmp_path):
    times = [time(minute // 60, minute % 60) for minute in range(0, 24 * 60, 7)]
    for number, each in enumerate(times):
        build.supplier(f"supplier {number:03}", cutoff_time=each)
    dump_kitchen("xlsx", tmp_path / "kitchen.xlsx")

    rows = read_kitchen(tmp_path / "kitchen.xlsx").sheets["Suppliers"].entries

    column = SHEETS[4].column("cutoff_time")
    assert [column.read(row["cutoff_time"]) for row in rows] == times


def test_a_workbook_saved_again_by_another_program_is_the_same_kitchen(tmp_path):
    load_kitchen(source("wedding_season"), at=NOON)
    for number, words in enumerate(TRAPS):
        build.planned_cake(
            build.cake(f"cake {number}"), reference=f"{number:02}", note=words
        )
    dump_kitchen("xlsx", tmp_path / "kitchen.xlsx")

    libreoffice.convert(
        tmp_path / "kitchen.xlsx", "xlsx:Calc MS Excel 2007 XML", tmp_path / "saved"
    )

    report = load_kitchen(read_kitchen(tmp_path / "saved" / "kitchen.xlsx"), at=NOON)
    assert report.changes_nothing


# Where they go.


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_what_is_there_is_replaced_only_with_force(form, tmp_path):
    path = tmp_path / f"kitchen.{form}"
    dump_kitchen(form, path)
    build.place("cooler")

    with pytest.raises(KitchenOutError, match="already exists"):
        dump_kitchen(form, path)

    assert read_kitchen(path).sheets["Places"].entries == []
    dump_kitchen(form, path, force=True)
    assert len(read_kitchen(path).sheets["Places"].entries) == 1


def test_a_folder_keeps_what_else_is_in_it(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")

    dump_kitchen("csv", tmp_path)

    files = sorted(path.name for path in tmp_path.iterdir())
    assert files == sorted(["notes.txt", *(f"{sheet.name}.csv" for sheet in SHEETS)])


def test_a_place_that_cannot_be_written_to_is_told_and_nothing_is_left(tmp_path):
    (tmp_path / "file").write_text("")

    for form, name, words in [
        ("xlsx", "gone/kitchen.xlsx", "cannot be written: no such file"),
        ("xlsx", "kitchen.ods", "does not end in .xlsx"),
        ("xlsx", "", "is a folder"),
        ("csv", "file", "is a file"),
        ("csv", "file/csv", "cannot be written"),
    ]:
        with pytest.raises(KitchenOutError, match=words):
            dump_kitchen(form, tmp_path / name)

    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_the_command_writes_both_and_refuses_to_overwrite(tmp_path, capsys):
    build.bakery(time_zone="UTC")
    build.stock(build.item("butter", place=build.place("cooler")), -5)

    call_command("dump_kitchen", str(tmp_path / "kitchen.xlsx"))
    call_command("dump_kitchen", str(tmp_path / "csv"), "--csv")

    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Butter in cooler: the record is below zero")
    rows = len(SETTING_COLUMNS) + 2  # a place and an item
    assert said[1].endswith(f"kitchen.xlsx: {rows} rows.")
    assert said[2].startswith("Not in it: the history of movements, counts, holds,")
    assert said[-1] == said[2], "the last line"
    assert (tmp_path / "csv" / "Places.csv").exists()
    with pytest.raises(CommandError, match="--force"):
        call_command("dump_kitchen", str(tmp_path / "kitchen.xlsx"))
    call_command("dump_kitchen", str(tmp_path / "kitchen.xlsx"), "--force")


def test_prices_come_back_exactly(tmp_path):
    for number, price in enumerate(["0.0001", "92.5", "999999999.9999"]):
        build.pack(build.item(f"item {number}"), price=price)
    dump_kitchen("xlsx", tmp_path / "kitchen.xlsx")

    rows = read_kitchen(tmp_path / "kitchen.xlsx").sheets["Packs"].entries

    column = SHEETS[5].column("price")
    assert sorted(column.read(row["price"]) for row in rows) == [
        Decimal("0.0001"),
        Decimal("92.5"),
        Decimal("999999999.9999"),
    ]
