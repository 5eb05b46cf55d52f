"""What a page refuses before it holds anything of it in memory."""

import io
import zipfile

import pytest

from planning.interchange import limits
from planning.interchange.errors import KitchenFileError
from planning.interchange.limits import BY_COMMAND, ON_A_PAGE
from planning.interchange.workbook_reading import read_workbook
from tests.planning.workbooks import places_file

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STYLES, TEXTS, SHEET = (
    "xl/styles.xml",
    "xl/sharedStrings.xml",
    "xl/worksheets/sheet1.xml",
)


TYPES = "[Content_Types].xml"
TEXTS_TYPE = (
    b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/'
    b'vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml" />'
)


def with_part(part, start, piece, count, end):
    """A good workbook in which one part is a piece over and over."""
    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(places_file())) as before,
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for name in before.namelist():
            if name != part:
                content = before.read(name)
                if name == TYPES and part == TEXTS:  # or a library passes them over
                    content = content.replace(b"</Types>", TEXTS_TYPE + b"</Types>")
                after.writestr(name, content)
        # Every piece differs a little, or it would be packed too tight to be let in.
        pieces = "".join(piece.format(number) for number in range(count))
        after.writestr(part, f"{start}{pieces}{end}")
    buffer.seek(0)
    return buffer


def styles(count):
    start = f'<styleSheet xmlns="{MAIN}"><cellXfs>'
    end = "</cellXfs></styleSheet>"
    return with_part(STYLES, start, '<xf numFmtId="{}"/>', count, end)


def texts(count, part=TEXTS):
    return with_part(
        part, f'<sst xmlns="{MAIN}">', "<si><t>{}</t></si>", count, "</sst>"
    )


def cells(count):
    start = f'<worksheet xmlns="{MAIN}"><sheetData>'
    row = "<row><c><v>{0}</v></c></row>"
    return with_part(SHEET, start, row, count, "</sheetData></worksheet>")


def refused(file, bounds=ON_A_PAGE):
    with pytest.raises(KitchenFileError) as error:
        read_workbook(file, "kitchen.xlsx", bounds)
    return str(error.value)


@pytest.mark.parametrize(
    "file",
    [
        lambda: styles(limits.MOST_OTHER_ELEMENTS + 1),
        lambda: texts(ON_A_PAGE.text_elements // 2 + 1),
        lambda: cells(ON_A_PAGE.cells + 1),
        # The same under the name of another part.
        lambda: texts(ON_A_PAGE.text_elements // 2 + 1, part=STYLES),
    ],
    ids=["styles", "texts", "cells", "texts as styles"],
)
def test_a_page_refuses_what_would_fill_memory_and_names_the_command(file):
    sentence = refused(file())

    assert sentence.startswith("kitchen.xlsx is too large. ")
    assert "python manage.py load_kitchen FILE" in sentence


def test_styles_in_the_place_of_a_sheet_are_counted_too():
    start, end = f'<worksheet xmlns="{MAIN}">', "</worksheet>"
    many = limits.MOST_OTHER_ELEMENTS + 1

    assert "too large" in refused(with_part(SHEET, start, '<xf id="{}"/>', many, end))


def test_a_command_takes_what_a_page_does_not():
    file = cells(ON_A_PAGE.cells + 1)

    [grid] = read_workbook(file, "kitchen.xlsx", BY_COMMAND)

    assert len(grid.rows) == ON_A_PAGE.cells + 1


def test_a_command_hears_of_each_sheet_before_it_is_read():
    told = []

    read_workbook(
        cells(7), "kitchen.xlsx", BY_COMMAND, tell=lambda *of: told.append(of)
    )

    assert told == [("Places", 7)]
