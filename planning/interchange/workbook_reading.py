"""Reading a kitchen from a workbook: an XLSX file, with all it can get wrong.

Hidden sheets are read like others. A formula is not reckoned: what a program stored
as its last result may be out of date, so its cell is a fault.
"""

import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from typing import Any, BinaryIO
from xml.parsers.expat import ExpatError

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from openpyxl.reader.excel import ExcelReader
from openpyxl.utils.exceptions import InvalidFileException

from planning.interchange.errors import KitchenFileError
from planning.interchange.grids import Cells, Grid
from planning.interchange.limits import FileLimits
from planning.interchange.workbook_safety import PartScan, check_archive, check_file
from stock.entry.cells import Unreadable

FORMULA = Unreadable(
    gettext_noop(
        "It holds a formula. Paste its value in its place (copy, then paste values "
        "only)."
    )
)
# What reading a broken archive, broken XML or a part that is not there may raise.
BROKEN = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    EOFError,
    InvalidFileException,
    LookupError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    zipfile.BadZipFile,
    zlib.error,
    ExpatError,
)

Tell = Callable[[str, int], None]  # a sheet's name, and how many cells it has


def tell_nobody(_sheet: str, _cells: int) -> None:
    """Say nothing of how far the reading has come."""


class _CellReader(ExcelReader):
    """A reader of cells alone."""

    def read_chartsheet(self, sheet: Any, rel: Any) -> None:
        """Pass over a sheet that is one chart: the library's own way fails on some."""


def read_workbook(
    file: BinaryIO, name: str, bounds: FileLimits, *, tell: Tell = tell_nobody
) -> list[Grid]:
    """Return the sheets of a workbook; `name` is what a person calls the file.

    A file over the bounds is refused before a library parses any of it. `tell` hears
    of each sheet before it is read.
    """
    check_file(file, name)
    try:
        with warnings.catch_warnings():
            # What the library would lose on saving does not matter to a reader.
            warnings.simplefilter("ignore")
            with zipfile.ZipFile(file) as archive:
                scans = check_archive(archive, name, bounds)
            return _grids(file, scans, tell)
    except BROKEN as error:
        raise KitchenFileError(
            _(
                "{name} is damaged, or only a part of it arrived. Save it again "
                "from the spreadsheet, and send it again."
            ).format(name=name)
        ) from error


def _grids(file: BinaryIO, scans: Mapping[str, PartScan], tell: Tell) -> list[Grid]:
    file.seek(0)
    reader = _CellReader(file, read_only=True, keep_links=False)
    reader.read()
    # A sheet whose part is not there is passed over by the library; here it fails.
    scan_by_sheet = {
        sheet.name: scans[rel.target] for sheet, rel in reader.parser.find_sheets()
    }
    cells_by_sheet = {sheet.title: sheet for sheet in reader.wb.worksheets}
    grids = []
    for name, scan in scan_by_sheet.items():
        tell(name.strip(), scan.cells)
        rows = list(_rows(cells_by_sheet[name])) if name in cells_by_sheet else []
        grids.append(Grid(name.strip(), rows, scan.merged))
    return grids


def _rows(sheet: Any) -> Iterator[tuple[int, Cells]]:
    """Yield the rows that hold anything; a sheet's own word on its size is not used."""
    sheet.reset_dimensions()
    for number, row in enumerate(sheet.iter_rows(), start=1):
        cells = [_value(cell) for cell in row]
        if any(cell is not None for cell in cells):
            yield number, cells


def _value(cell: Any) -> object:
    value = cell.value
    if value is None:
        return None
    if cell.data_type == "f":
        return FORMULA
    if cell.data_type == "e":
        return Unreadable(
            _(
                "It shows {value}, an error of the spreadsheet. Write the value itself."
            ).format(value=value)
        )
    return value
