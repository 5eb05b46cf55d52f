"""Is this file a workbook that can be opened without harm?

An XLSX file is a zip archive of XML. Before a library parses it, what it would unpack
to is bounded, and every XML part is read once, as a stream, to see that it defines no
entities and how many cells it holds.
"""

import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import BinaryIO
from xml.parsers import expat

from django.utils.translation import gettext as _

from planning.interchange import limits
from planning.interchange.errors import KitchenFileError

ZIP_MAGIC = b"PK\x03\x04"
# Old .xls files, and new ones behind a password, are OLE containers.
OLE_MAGIC = bytes.fromhex("d0cf11e0a1b11ae1")
OLE_OF_PASSWORD = "EncryptedPackage".encode("utf-16-le")
WORKBOOK_PART = "xl/workbook.xml"
# Cells are read as a stream, and counted by themselves.
CELL_TAGS = frozenset({"c", "v", "f", "row"})
# Of the texts that cells share, which a library holds in memory whole.
TEXT_TAGS = frozenset(
    {"si", "t", "is", "r", "rPr", "rPh", "phoneticPr", "rFont", "sz", "color"}
    | {"family", "scheme", "charset", "b", "i", "u", "strike", "vertAlign"}
)
STRICT_NAMESPACE = "purl.oclc.org/ooxml"
CHUNK_BYTES = 2**16
LARGEST_LETTERS = 3  # a column's letters: XFD


def check_file(file: BinaryIO, name: str) -> None:
    """Refuse a file that is no workbook, or that is too large to be a kitchen's."""
    size_bytes = file.seek(0, 2)
    file.seek(0)
    if size_bytes > limits.MOST_FILE_BYTES:
        raise KitchenFileError(
            _(
                "{name} is {size_bytes} MB large; a kitchen's workbook has at most "
                "{most_file_bytes} MB. {too_much}"
            ).format(
                name=name,
                size_bytes=size_bytes // limits.MEGABYTE,
                most_file_bytes=limits.MOST_FILE_BYTES // limits.MEGABYTE,
                too_much=limits.TOO_MUCH,
            )
        )
    start = file.read(len(OLE_MAGIC))
    if start == OLE_MAGIC:
        raise _ole_error(file, name)
    if not start.startswith(ZIP_MAGIC):
        raise KitchenFileError(
            _(
                "{name} isn't a workbook. Save it from the spreadsheet as an Excel "
                "workbook (.xlsx)."
            ).format(name=name)
        )
    file.seek(0)


def check_archive(
    archive: zipfile.ZipFile, name: str, bounds: limits.FileLimits
) -> dict[str, "PartScan"]:
    """Refuse an archive that is none of a workbook or unpacks to far too much.

    Return what was seen of each XML part, by its name.
    """
    parts = archive.infolist()
    if not any(part.filename.lower() == WORKBOOK_PART for part in parts):
        raise KitchenFileError(
            _(
                "{name} isn't a workbook, though it is packed like one. Save it "
                "from the spreadsheet as an Excel workbook (.xlsx)."
            ).format(name=name)
        )
    if any(part.flag_bits & 1 for part in parts):
        raise _password_error(name)
    _check_sizes(parts, name, bounds)
    tally = Tally()
    scans = {
        part.filename: _scan(archive, part, PartScan(name, bounds, tally))
        for part in parts
        if part.filename.lower().endswith((".xml", ".rels"))
    }
    _check_scans(scans, name, bounds)
    return scans


def _ole_error(file: BinaryIO, name: str) -> KitchenFileError:
    if OLE_OF_PASSWORD in file.read():
        return _password_error(name)
    return KitchenFileError(
        _(
            "{name} is in the old Excel format. Save it as an Excel workbook (.xlsx)."
        ).format(name=name)
    )


def _password_error(name: str) -> KitchenFileError:
    return KitchenFileError(
        _("{name} is protected by a password. Save it without one.").format(name=name)
    )


def _check_sizes(
    parts: list[zipfile.ZipInfo], name: str, bounds: limits.FileLimits
) -> None:
    """Bound what is declared; an archive never yields more than it declares."""
    unpacked_bytes = sum(part.file_size for part in parts)
    packed_tight = any(
        part.file_size > limits.SMALL_PART_BYTES
        and part.file_size > limits.MOST_PACKING * part.compress_size
        for part in parts
    )
    if (
        len(parts) > limits.MOST_PARTS
        or unpacked_bytes > bounds.unpacked_bytes
        or packed_tight
    ):
        raise KitchenFileError(
            _("{name} unpacks to far too much. {way_out}").format(
                name=name, way_out=bounds.way_out
            )
        )


@dataclass(slots=True)
class Tally:
    """How many elements a whole file has besides cells, whatever part they stand in."""

    texts: int = 0
    others: int = 0

    def has_room(self, tag: str, bounds: limits.FileLimits) -> bool:
        """Count one element; return whether the file may have it."""
        if tag in TEXT_TAGS:
            self.texts += 1
        elif tag not in CELL_TAGS:
            self.others += 1
        return (
            self.texts <= bounds.text_elements
            and self.others <= limits.MOST_OTHER_ELEMENTS
        )


@dataclass(slots=True)
class PartScan:
    """What a stream of one part's XML elements has shown so far."""

    name: str  # of the file, for sentences
    bounds: limits.FileLimits
    tally: "Tally"
    cells: int = 0
    spread: int = 0
    merged: list[str] = field(default_factory=list)
    is_strict: bool = False
    _last_column: int = 0
    _is_first: bool = True

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """See one element begin."""
        if self._is_first:
            self._is_first = False
            spaces = " ".join(attributes.values())
            self.is_strict = STRICT_NAMESPACE in spaces
        tag = tag.rpartition(":")[2]
        if not self.tally.has_room(tag, self.bounds):
            raise _too_much(self.name, self.bounds)
        if tag == "c":
            self._see_cell(attributes.get("r", ""))
        elif tag == "row":
            self._see_row(attributes.get("r", ""))
        elif tag == "mergeCell":
            self.merged.append(attributes.get("ref", ""))

    def refuse_definitions(self, *_ignored: object) -> None:
        """Refuse a document type: no workbook has one, and it can define a bomb."""
        raise KitchenFileError(
            _(
                "{name} defines entities of its own, which no workbook needs. Save "
                "it again from the spreadsheet."
            ).format(name=self.name)
        )

    def _see_cell(self, reference: str) -> None:
        letters = reference.rstrip("0123456789").upper()
        column = self._last_column + 1
        if letters.isascii() and letters.isalpha() and len(letters) <= LARGEST_LETTERS:
            column = 0
            for letter in letters:
                column = column * 26 + ord(letter) - ord("A") + 1
        elif letters:
            raise _too_much(self.name, self.bounds)
        self.spread += max(column - self._last_column, 1)
        self._last_column = column
        self.cells += 1
        if self.cells > self.bounds.cells or self.spread > self.bounds.spread:
            raise _too_much(self.name, self.bounds)

    def _see_row(self, number: str) -> None:
        self._last_column = 0
        if number and (not number.isdecimal() or int(number) > limits.MOST_ROWS):
            raise _too_much(self.name, self.bounds)


def _too_much(name: str, bounds: limits.FileLimits) -> KitchenFileError:
    return KitchenFileError(
        _("{name} is too large. {way_out}").format(name=name, way_out=bounds.way_out)
    )


def _scan(archive: zipfile.ZipFile, part: zipfile.ZipInfo, scan: PartScan) -> PartScan:
    parser = expat.ParserCreate()
    parser.StartElementHandler = scan.start
    parser.StartDoctypeDeclHandler = scan.refuse_definitions
    with archive.open(part) as stream:
        while chunk := stream.read(CHUNK_BYTES):
            parser.Parse(chunk, False)
    parser.Parse(b"", True)
    return scan


def _check_scans(
    scans: Mapping[str, PartScan], name: str, bounds: limits.FileLimits
) -> None:
    if sum(scan.cells for scan in scans.values()) > bounds.cells:
        raise _too_much(name, bounds)
    if any(scan.is_strict for scan in scans.values()):
        raise KitchenFileError(
            _(
                "{name} is a Strict Open XML workbook. Save it as an Excel "
                "workbook (.xlsx)."
            ).format(name=name)
        )
