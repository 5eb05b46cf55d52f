"""What is no workbook, or one that nobody should open."""

import io
import zipfile

import pytest

from tests.planning.workbooks import entries, places_file, refused

SHEET_PART = "xl/worksheets/sheet1.xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

BOMB = (
    '<!DOCTYPE w [<!ENTITY a "aaaaaaaaaa">'
    '<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
)


def with_part(content, part, replace):
    """The archive with one part's bytes put through `replace`."""
    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as before,
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for name in before.namelist():
            data = before.read(name)
            after.writestr(name, replace(data) if name == part else data)
    return buffer.getvalue()


def with_extra_parts(content, parts):
    buffer = io.BytesIO(content)
    with zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def sheet_of(rows):
    xml = f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'
    return lambda _: xml.encode()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "isn't a workbook"),
        (b"place,walk_order\nshelf,1\n", "isn't a workbook"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600), "the old Excel format"),
        (
            bytes.fromhex("d0cf11e0a1b11ae1") + "EncryptedPackage".encode("utf-16-le"),
            "protected by a password",
        ),
        (b"PK\x03\x04" + bytes(21 * 2**20), "is 21 MB large"),
    ],
    ids=["empty", "text", "old", "password", "huge"],
)
def test_a_file_that_is_no_workbook_says_what_it_is(content, sentence):
    assert sentence in refused(content)


def test_a_zip_archive_of_something_else_is_no_workbook():
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("Places.csv", "place\n")

    assert "isn't a workbook, though it is packed like one" in refused(
        buffer.getvalue()
    )


@pytest.mark.parametrize("kept_bytes", [30, 800, -30])
def test_a_file_of_which_only_a_part_arrived_is_damaged(kept_bytes):
    assert "is damaged" in refused(places_file()[:kept_bytes])


@pytest.mark.parametrize(
    "broken",
    [b"", b"<worksheet", b"\xff\xfe<", b'<worksheet xmlns="x"><a></worksheet>'],
)
def test_a_sheet_that_is_no_xml_is_damaged(broken):
    assert "is damaged" in refused(
        with_part(places_file(), SHEET_PART, lambda _: broken)
    )


def test_a_sheet_whose_part_is_not_there_is_damaged():
    content = with_part(
        places_file(),
        "xl/_rels/workbook.xml.rels",
        lambda data: data.replace(b"sheet1.xml", b"sheet9.xml"),
    )

    assert "is damaged" in refused(content)


@pytest.mark.parametrize("part", [SHEET_PART, "xl/workbook.xml", "xl/styles.xml"])
def test_a_workbook_that_defines_entities_is_refused(part):
    def define(data):
        start = data.index(b"<", 1) if data.startswith(b"<?") else 0
        return data[:start] + BOMB.encode() + data[start:]

    assert "defines entities" in refused(with_part(places_file(), part, define))


def test_a_part_that_is_packed_a_thousand_to_one_is_a_bomb():
    content = with_extra_parts(places_file(), {"xl/more.xml": bytes(4 * 2**20)})

    assert "unpacks to far too much" in refused(content)


def test_thousands_of_parts_are_a_bomb():
    parts = {f"xl/media/{number}.png": b"" for number in range(1_001)}

    assert "unpacks to far too much" in refused(with_extra_parts(places_file(), parts))


def test_a_part_that_holds_more_than_it_says_is_damaged():
    content = places_file()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(SHEET_PART).file_size
    lying = content.replace(size.to_bytes(4, "little"), (9).to_bytes(4, "little"))

    assert lying != content
    assert "is damaged" in refused(lying)


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="2000000000"><c r="A2000000000"><v>1</v></c></row>',
        '<row r="1"><c r="AAAAAA1"><v>1</v></c></row>',
        "".join(f'<row r="{n}"><c r="XFD{n}"/></row>' for n in range(1, 400)),
    ],
    ids=["far down", "far right", "wide and deep"],
)
def test_a_sheet_that_spreads_without_end_is_too_large(rows):
    content = with_part(places_file(), SHEET_PART, sheet_of(rows))

    assert "is too large" in refused(content)


def test_cells_without_references_are_counted_one_after_the_other():
    text = '<c t="inlineStr"><is><t>{}</t></is></c>'.format
    rows = f"<row>{text('place')}</row><row>{text('shelf')}</row>"

    content = with_part(places_file(), SHEET_PART, sheet_of(rows))

    assert entries(content, "Places") == [{"place": "shelf"}]


def test_a_strict_workbook_is_refused_rather_than_read_as_empty():
    strict = with_part(
        places_file(),
        SHEET_PART,
        lambda data: data.replace(
            MAIN.encode(), b"http://purl.oclc.org/ooxml/spreadsheetml/main"
        ),
    )

    assert "Strict Open XML" in refused(strict)
