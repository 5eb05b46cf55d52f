"""Writing a kitchen to disk: whole files or none, and nothing replaced unasked."""

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from django.utils.translation import gettext as _

from planning.interchange.csv_writing import kitchen_csv_files
from planning.interchange.errors import KitchenOutError
from planning.interchange.taking_out import KitchenOut, kitchen_out
from planning.interchange.workbook_writing import kitchen_workbook

Format = Literal["xlsx", "csv"]
ENDING = ".xlsx"
READABLE_BY_ALL = 0o644


def dump_kitchen(format: Format, path: Path, *, force: bool = False) -> KitchenOut:  # noqa: A002 (the word for it)
    """Write a workbook, or a folder of CSV files; return what was written.

    A reader of the files never sees half of one. Without force nothing is replaced.
    """
    kitchen = kitchen_out()
    try:
        if format == "csv":
            _write_folder(path, kitchen_csv_files(kitchen), force=force)
        else:
            _check_workbook_path(path)
            _write_files({path: kitchen_workbook(kitchen)}, force=force)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise KitchenOutError(
            _("{path} cannot be written: {reason}.").format(path=path, reason=reason)
        ) from error
    return kitchen


def _check_workbook_path(path: Path) -> None:
    if path.is_dir():
        raise KitchenOutError(
            _(
                "{path} is a folder. Name a file in it, or add --csv for CSV files."
            ).format(path=path)
        )
    if path.suffix.lower() != ENDING:
        raise KitchenOutError(
            _(
                "{name} does not end in {ending}. Name a file that does, or add "
                "--csv for a folder of CSV files."
            ).format(name=path.name, ending=ENDING)
        )


def _write_folder(folder: Path, files: Mapping[str, bytes], *, force: bool) -> None:
    if folder.exists() and not folder.is_dir():
        raise KitchenOutError(
            _("{folder} is a file. Name a folder for the CSV files.").format(
                folder=folder
            )
        )
    folder.mkdir(parents=True, exist_ok=True)
    _write_files(
        {folder / name: content for name, content in files.items()}, force=force
    )


def _write_files(files: Mapping[Path, bytes], *, force: bool) -> None:
    """Write all files beside their places, then move each of them in at once."""
    there = [path for path in files if path.exists()]
    if there and not force:
        raise KitchenOutError(
            _(
                "{there} already exists. Name another place, or add --force to "
                "replace it."
            ).format(there=there[0])
        )
    parts: dict[Path, str] = {}
    try:
        for path, content in files.items():
            parts[path] = _write_beside(path, content)
        for path, part in parts.items():
            os.replace(part, path)
    finally:
        for part in parts.values():
            Path(part).unlink(missing_ok=True)


def _write_beside(path: Path, content: bytes) -> str:
    with tempfile.NamedTemporaryFile(
        dir=path.parent, prefix=".writing-", delete=False
    ) as part:
        part.write(content)
    os.chmod(part.name, READABLE_BY_ALL)
    return part.name
