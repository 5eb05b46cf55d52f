"""A folder of CSV files, and paths that hold no kitchen."""

import os

import pytest

from planning.interchange.errors import KitchenFileError
from planning.interchange.reading import read_kitchen
from tests.planning.workbooks import faults


def folder_of(tmp_path, **files):
    tmp_path.mkdir(exist_ok=True)
    for name, content in files.items():
        data = content if isinstance(content, bytes) else content.encode()
        (tmp_path / f"{name.replace('_', ' ')}.csv").write_bytes(data)
    return tmp_path


def refused_path(path):
    with pytest.raises(KitchenFileError) as error:
        read_kitchen(path)
    return str(error.value)


def test_csv_files_are_sheets_with_or_without_a_byte_order_mark(tmp_path):
    folder = folder_of(
        tmp_path,
        places="\ufeffplace,walk_order\r\ncrème shelf,1\r\n",
        Recipe_lines='recipe,component,quantity\n"cake, plain",egg,"2 each"\n\n',
    )
    (folder / "notes.txt").write_text("not a sheet")

    kitchen = read_kitchen(folder)

    assert kitchen.faults == []
    assert kitchen.sheets["Places"].entries == [
        {"place": "crème shelf", "walk_order": "1"}
    ]
    assert kitchen.sheets["Recipe lines"].entries[0]["recipe"] == "cake, plain"


def test_one_apostrophe_before_a_formula_start_is_the_mark_for_text(tmp_path):
    folder = folder_of(tmp_path, Places="place\n'=A1\n''+b\n'tis\n-c\n")

    assert [row["place"] for row in read_kitchen(folder).sheets["Places"].entries] == [
        "=A1",
        "'+b",
        "'tis",
        "-c",
    ]


def test_a_row_may_be_shorter_than_the_header_but_not_longer(tmp_path):
    folder = folder_of(tmp_path, Places="place,walk_order\nshelf\nbin,2,three\n")

    kitchen = read_kitchen(folder)

    assert kitchen.sheets["Places"].entries[0] == {"place": "shelf", "walk_order": None}
    assert faults(kitchen) == [
        "Places!C3: This column has no name. Write one into its first row."
    ]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("place\ncrème\n".encode("latin-1"), "Places.csv is not written in UTF-8"),
        ("place\n".encode("utf-16"), "Places.csv is not written in UTF-8"),
        ('place\n"shelf\n', "Places.csv is broken after row 1"),
        ("place;walk_order\nshelf;1\n", "separated by semicolons"),
        ("place\twalk_order\nshelf\t1\n", "separated by tabs"),
        ("place\n" + "x" * 140_000 + "\n", "Places.csv is broken after row 1"),
    ],
    ids=["latin-1", "utf-16", "quote", "semicolons", "tabs", "endless cell"],
)
def test_a_csv_file_that_cannot_be_read_says_how_to_save_it(
    tmp_path, content, sentence
):
    assert sentence in refused_path(folder_of(tmp_path, Places=content))


def test_a_csv_file_of_an_unknown_sheet_is_a_fault(tmp_path):
    folder = folder_of(tmp_path, Places="place\n", Itmes="item\n")

    assert faults(read_kitchen(folder)) == [
        'Itmes!A1: There is no sheet "Itmes". Did you mean Items?'
    ]


def test_a_path_that_holds_no_kitchen_says_so(tmp_path):
    (tmp_path / "Places.csv").write_text("place\n")
    empty = tmp_path / "empty"
    empty.mkdir()

    assert "There is no file or folder" in refused_path(tmp_path / "gone.xlsx")
    assert "There is no sheet of a kitchen in the folder" in refused_path(empty)
    assert "is one sheet alone" in refused_path(tmp_path / "Places.csv")


def test_what_is_no_file_is_named(tmp_path):
    os.mkfifo(tmp_path / "pipe.xlsx")
    pipe_among_sheets = folder_of(tmp_path / "a", Places="place\n")
    os.mkfifo(pipe_among_sheets / "Items.csv")
    folder_among_sheets = folder_of(tmp_path / "b", Places="place\n")
    (folder_among_sheets / "Items.csv").mkdir()

    assert "pipe.xlsx isn't a file." in refused_path(tmp_path / "pipe.xlsx")
    assert "Items.csv isn't a file." in refused_path(pipe_among_sheets)
    assert "Items.csv isn't a file." in refused_path(folder_among_sheets)
