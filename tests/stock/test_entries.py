import pytest

from planning.entry.sheets import SHEETS
from stock.entry.cells import CellError, Name, Unreadable, WholeNumber
from stock.entry.entries import Column, EntryFaultsError, Fault, Sheet

SHELVES = Sheet(
    "Shelves",
    (
        Column("shelf", Name(), is_key=True),
        Column("boards", WholeNumber(least=1), required=True),
        Column("height", WholeNumber(), default=7),
    ),
)


def test_only_the_columns_that_an_entry_names_are_read():
    reading = SHELVES.read({"shelf": "top", "boards": "3"})

    assert reading.values == {"shelf": "top", "boards": 3}
    assert reading.faults == {}


def test_a_cell_that_its_program_could_not_work_out_is_a_fault():
    reading = SHELVES.read({"shelf": "top", "boards": Unreadable("It says #REF!.")})

    [fault] = reading.faults.values()
    assert "It says #REF!." in str(fault)


def test_a_column_that_a_sheet_does_not_have_is_named():
    with pytest.raises(KeyError, match="Shelves has no column 'depth'"):
        SHELVES.column("depth")


def test_a_blank_cell_means_the_columns_default():
    assert SHELVES.read({"shelf": "top", "height": " "}).values["height"] == 7


def test_every_fault_of_an_entry_is_found_at_once():
    reading = SHELVES.read({"boards": "0", "height": "high"})

    assert set(reading.faults) == {"shelf", "boards", "height"}
    assert reading.faults["shelf"] == "“Shelf” must not stay blank."


@pytest.mark.parametrize("column", [*SHEETS[2].columns, *SHEETS[4].columns])
@pytest.mark.parametrize("letter", ["x", "9", "1; "])
def test_a_pasted_page_is_refused_without_quoting_it(column, letter):
    with pytest.raises(CellError, match="letters long") as refused:
        column.read(letter * 10_000)

    assert len(str(refused.value)) < 60


def test_a_blank_in_a_required_column_is_a_fault():
    reading = SHELVES.read({"shelf": "top", "boards": ""})

    assert reading.faults == {"boards": "“Boards” must not stay blank."}


def test_a_column_that_the_sheet_does_not_have_is_a_programmers_mistake():
    with pytest.raises(KeyError, match="no column colour"):
        SHELVES.read({"shelf": "top", "colour": "red"})


def test_an_error_says_all_its_faults():
    error = EntryFaultsError(
        [Fault(1, "boards", "Too few."), Fault(2, "boards", "Too thin.")]
    )

    assert str(error) == "Too few. Too thin."


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_default_of_every_sheet_is_a_value_of_its_kind(sheet):
    for column in sheet.columns:
        text = column.text(column.default)
        assert not text or column.read(text) == column.default, column.name


# From the workbook's definition: bold columns are keys, * is required.
@pytest.mark.parametrize(
    ("name", "keys", "required"),
    [
        ("Places", ["place"], []),
        ("Items", ["item"], ["measure"]),
        ("Splits", ["whole", "part"], ["yields"]),
        # Whoever delivers needs a cut-off too, and a shop none: see test_suppliers.
        ("Suppliers", ["supplier"], ["delivery_days"]),
        ("Packs", ["supplier", "item", "pack"], ["holds", "price"]),
        ("Recipes", ["recipe"], ["yields"]),
        ("Recipe lines", ["recipe", "component"], ["quantity"]),
        ("Bake plan", ["reference"], ["due", "cake", "quantity"]),
        ("Stock", ["item", "place", "use_by"], ["quantity"]),
        ("Open orders", ["order", "item", "pack"], ["supplier", "packs", "due"]),
        ("Substitutes", ["item", "substitute"], []),
    ],
)
def test_sheets_have_the_keys_and_required_columns_of_the_workbook(
    name, keys, required
):
    sheet = next(sheet for sheet in SHEETS if sheet.name == name)

    assert [column.name for column in sheet.keys] == keys
    assert [column.name for column in sheet.columns if column.required] == required
