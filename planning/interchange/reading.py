"""Reading a kitchen from a path: a workbook, or a folder of CSV files."""

from pathlib import Path

from django.utils.translation import gettext as _

from planning.interchange.csv_reading import read_csv_folder, refuse_what_is_no_file
from planning.interchange.errors import KitchenFileError
from planning.interchange.grids import KitchenCells, kitchen_cells
from planning.interchange.limits import BY_COMMAND
from planning.interchange.workbook_reading import Tell, read_workbook, tell_nobody


def read_kitchen(path: Path, *, tell: Tell = tell_nobody) -> KitchenCells:
    """Return what a workbook or a folder of CSV files holds.

    What cannot be read at all is a KitchenFileError; what is wrong with single cells
    is left to whoever keeps them. `tell` hears of each sheet of a workbook before it is
    read.
    """
    try:
        if path.is_dir():
            return kitchen_cells(read_csv_folder(path))
        if path.suffix.lower() == ".csv":
            raise KitchenFileError(
                _(
                    "{name} is one sheet alone. Put the CSV files of a kitchen into "
                    "one folder, and name the folder."
                ).format(name=path.name)
            )
        refuse_what_is_no_file(path)
        with path.open("rb") as file:
            grids = read_workbook(file, path.name, BY_COMMAND, tell=tell)
            return kitchen_cells(grids)
    except FileNotFoundError as error:
        raise KitchenFileError(
            _("There is no file or folder {path}.").format(path=path)
        ) from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        where = error.filename or path
        raise KitchenFileError(
            _("{where} cannot be read: {reason}.").format(where=where, reason=reason)
        ) from error
